#include "tests/kill/kill_run.h"

#include <atomic>
#include <csignal>
#include <cstdlib>
#include <memory>
#include <random>
#include <stdexcept>
#include <thread>

#include "daemon/mqtt/client.h"
#include "daemon/mqtt/publisher.h"
#include "tests/support/poll.h"

namespace coilward {
namespace {

using namespace std::chrono_literals;
using Steady = std::chrono::steady_clock;

// Watches the site's status report.
class StatusWatch {
 public:
  StatusWatch(Broker& broker, const std::string& site) {
    auto opened = Spool::open(directory_ / "spool", 1 << 20);
    if (!opened) throw std::runtime_error(opened.error().what);
    spool_ = std::move(*opened);
    static const SystemClock clock;
    ClientOptions options;
    options.mqtt.url = broker.url();
    options.mqtt.client_id = "status-watch";
    options.site = "watch";
    options.filters = {"coilward/" + site + "/report/status"};
    auto made = Client::create(options, spool_, clock);
    if (!made) throw std::runtime_error(made.error().what);
    client_ = std::move(*made);
    client_->start();
  }

  // Times that `online` was said.
  int times_online() {
    spool_->read(last_, 10'000, [this](const Message& m) {
      last_ = m.sequence;
      if (m.payload.find("\"online\"") != std::string_view::npos) ++online_;
    });
    return online_;
  }

 private:
  TemporaryDirectory directory_;
  std::shared_ptr<Spool> spool_;
  std::unique_ptr<Client> client_;
  std::uint64_t last_ = 0;
  int online_ = 0;
};

std::unique_ptr<Publisher> connect(Broker& broker) {
  MqttConfig config;
  config.url = broker.url();
  auto publisher = Publisher::connect(config);
  if (!publisher) throw std::runtime_error(publisher.error().what);
  return std::move(*publisher);
}

// Publishes on a thread of its own, as far as it is allowed to.
class NumberedMessages {
 public:
  NumberedMessages(Broker& broker, const KillSubject& subject)
      : publisher_(connect(broker)),
        subject_(subject),
        thread_([this](std::stop_token stop) { work(stop); }) {}

  void allow(std::uint64_t up_to) {
    allowed_ = up_to;
    allowed_.notify_all();
  }
  std::uint64_t acknowledged() const { return publisher_->acknowledged(); }
  bool failed() const { return failed_; }
  void end() {
    thread_.request_stop();
    allowed_ = allowed_ + 1;
    allowed_.notify_all();
    thread_.join();
    if (!publisher_->flush(30s)) failed_ = true;
  }

 private:
  void work(std::stop_token stop) {
    for (std::uint64_t number = 1; !failed_; ++number) {
      for (auto allowed = allowed_.load(); number > allowed; allowed = allowed_) allowed_.wait(allowed);
      if (stop.stop_requested()) return;
      if (!publisher_->publish(subject_.topic(number), subject_.payload(number))) failed_ = true;
    }
  }

  std::unique_ptr<Publisher> publisher_;
  const KillSubject& subject_;
  std::atomic<std::uint64_t> allowed_ = 0;
  std::atomic<bool> failed_ = false;
  std::jthread thread_;
};

void nap(std::mt19937& random, int most_ms) {
  std::this_thread::sleep_for(std::chrono::milliseconds(std::uniform_int_distribution<>(0, most_ms)(random)));
}

}  // namespace

KillReport run_kills(Broker& broker, const KillSubject& subject, const KillPlan& plan,
                     ChildProcess& process) {
  const auto begin = Steady::now();
  std::mt19937 random(plan.seed);
  StatusWatch watch(broker, subject.site);
  const std::string output = broker.directory() + "/subject.log";
  process = ChildProcess(subject.command, output);
  if (!becomes_true([&] { return watch.times_online() > 0; }, 30s)) throw std::runtime_error("never online");
  NumberedMessages messages(broker, subject);
  KillReport report;
  for (; report.kills < plan.kills; ++report.kills) {
    messages.allow(plan.messages * (report.kills + 1) / (plan.kills + 1));
    nap(random, 150);  // the moment of the kill within the burst is what is left to chance
    process.end(SIGKILL);
    const int online = watch.times_online();
    process = ChildProcess(subject.command, output);
    if (random() % 5 == 0) {
      nap(random, 100);
      ++report.killed_while_connecting;
    } else if (!becomes_true([&] { return watch.times_online() > online; }, 60s)) {
      throw std::runtime_error("not online again after a kill");
    }
  }
  messages.allow(plan.messages);
  becomes_true([&] { return messages.failed() || messages.acknowledged() == plan.messages; }, 300s);
  messages.end();
  report.acknowledged = messages.acknowledged();
  report.seconds = std::chrono::duration<double>(Steady::now() - begin).count();
  return report;
}

bool comes_online(Broker& broker, const std::string& site, std::chrono::milliseconds within) {
  StatusWatch watch(broker, site);
  return becomes_true([&] { return watch.times_online() > 0; }, within);
}

KillPlan kill_plan() {
  KillPlan plan;
  if (std::getenv("COILWARD_LONG") != nullptr) {
    plan.messages = 100'000;
    plan.kills = 50;
  }
  plan.seed = std::random_device{}();
  return plan;
}

}  // namespace coilward
