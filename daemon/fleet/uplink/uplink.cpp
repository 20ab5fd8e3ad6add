#include "daemon/fleet/uplink/uplink.h"

#include "daemon/base/mailbox.h"
#include "daemon/delivery/worker.h"
#include "daemon/fleet/uplink/site_parcels.h"
#include "daemon/history/state_directory.h"
#include "daemon/mqtt/client.h"

namespace coilward {
namespace {

constexpr std::size_t kMostAnswers = 256;

std::string uplink_path(const std::string& directory) { return directory + "/uplink.db"; }

ClientOptions client_options(const Config& config, const std::string& version) {
  ClientOptions options;
  options.mqtt = config.fleet.mqtt;
  options.mqtt.client_id = default_client_id(config.site.id) + "-up";
  options.site = config.site.id;
  options.version = version;
  options.filters = {have_topic(config.site.id)};
  options.qos = 0;               // an answer that is lost comes again with the next
  options.keep_session = false;  // and one from before a restart says nothing new
  options.status_topic = state_topic(config.site.id);
  options.longest_delay = std::chrono::minutes(2);  // thousands of sites come back to one broker
  return options;
}

}  // namespace

class Uplink::Impl {
 public:
  Impl(const Config& config, const std::string& version, const Clock& clock, UplinkOutbox outbox)
      : topic_(up_topic(config.site.id)),
        parcels_(config, history_path(config.paths.state), state_path(config.paths.state), version),
        step_(std::move(outbox), parcels_, clock,
              static_cast<std::uint64_t>(config.fleet.monthly_megabytes * 1e6),
              std::chrono::seconds(config.fleet.mqtt.keep_alive_s),
              [this](const std::string& payload) { client_->publish(topic_, payload, false); }),
        state_(step_.state()) {}

  // The answers' mailbox is shared with the client's threads, which may outlive all of this.
  Result<bool> make_client(const Config& config, const std::string& version, const Clock& clock) {
    auto client = Client::create_taking(
        client_options(config, version),
        [shared = shared_](const Message& message) {
          if (const auto have = read_have(message.payload)) shared->answers.put(*have);
          shared->wake();
        },
        clock);
    if (!client) return client.error();
    client_ = std::move(*client);
    client_->on_change([shared = shared_] { shared->wake(); });
    return true;
  }

  void start() {
    auto worker = std::make_shared<Worker>([this] { return std::optional(step()); }, [] {});
    {
      std::lock_guard lock(shared_->mutex);
      shared_->worker = worker;
    }
    client_->start();
  }

  void wake() { shared_->wake(); }
  void set_troubles(const Json& troubles) {
    parcels_.set_troubles(troubles);
    wake();
  }

  UplinkState state() const {
    std::lock_guard lock(mutex_);
    return state_;
  }

  bool stop(std::chrono::milliseconds limit) {
    const auto worker = [this] {
      std::lock_guard lock(shared_->mutex);
      return std::exchange(shared_->worker, nullptr);
    }();
    const bool ended = !worker || worker->stop(limit);
    return client_->stop(limit) && ended;
  }

 private:
  struct Shared {
    Mailbox<UplinkHave> answers{kMostAnswers};
    std::mutex mutex;
    std::shared_ptr<Worker> worker;
    void wake() {
      std::lock_guard lock(mutex);
      if (worker) worker->wake();
    }
  };

  // On the worker's thread.
  Millis step() {
    const ClientStatus status = client_->status();
    step_.connected(status.link == Link::connected && status.subscribed);
    while (const auto have = shared_->answers.try_take()) step_.heard(*have);
    const Millis wait = step_.step();
    UplinkState now = step_.state();
    if (!now.connected && now.trouble.empty()) {
      now.trouble = status.detail.empty() ? std::string(link_name(status.link)) : status.detail;
      now.since = status.since;
    }
    std::lock_guard lock(mutex_);
    state_ = std::move(now);
    return wait;
  }

  const std::string topic_;
  SiteParcels parcels_;
  std::unique_ptr<Client> client_;
  UplinkStep step_;
  std::shared_ptr<Shared> shared_ = std::make_shared<Shared>();
  mutable std::mutex mutex_;
  UplinkState state_;
};

Result<std::unique_ptr<Uplink>> Uplink::open(const Config& config, const std::string& version,
                                             const Clock& clock) {
  auto outbox = UplinkOutbox::open(uplink_path(config.paths.state), clock.utc());
  if (!outbox) return outbox.error();
  auto impl = std::make_unique<Impl>(config, version, clock, std::move(*outbox));
  if (auto made = impl->make_client(config, version, clock); !made) return made.error();
  return std::unique_ptr<Uplink>(new Uplink(std::move(impl)));
}

Uplink::Uplink(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
Uplink::~Uplink() { impl_->stop(std::chrono::seconds(2)); }
void Uplink::start() { impl_->start(); }
void Uplink::wake() { impl_->wake(); }
void Uplink::set_troubles(const Json& troubles) { impl_->set_troubles(troubles); }
UplinkState Uplink::state() const { return impl_->state(); }
bool Uplink::stop(std::chrono::milliseconds limit) { return impl_->stop(limit); }

}  // namespace coilward
