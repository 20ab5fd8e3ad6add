#include "daemon/fleet/server/ingest_line.h"

#include <fmt/format.h>
#include <unistd.h>

#include <atomic>
#include <nlohmann/json.hpp>
#include <random>

#include "daemon/base/log.h"
#include "daemon/base/mailbox.h"
#include "daemon/delivery/worker.h"
#include "daemon/fleet/server/migrations.h"
#include "daemon/mqtt/client.h"

namespace coilward {
namespace {

using namespace std::chrono_literals;

// Arrived and not taken: a few seconds of a large fleet. A batch: what one transaction takes in some ten
// milliseconds.
constexpr std::size_t kMostWaiting = 4096, kMostStates = 100'000, kBatch = 500;
constexpr Millis kFirstRetry = 500ms, kLongestRetry = 15s, kForgetEvery = 1h;
constexpr std::string_view kUpFilter = "$share/ingest/coilward/v1/+/up", kStateFilter = "coilward/v1/+/state";

// A name that no other worker has: a broker throws out the elder of two.
std::string worker_id() {
  return fmt::format("coilward-fleet-{}-{:08x}", ::getpid(), std::random_device{}());
}

ClientOptions client_options(const FleetServerConfig& config, const std::string& version) {
  ClientOptions options;
  options.mqtt = config.mqtt;
  if (options.mqtt.client_id.empty()) options.mqtt.client_id = worker_id();
  options.site = "fleet";
  options.version = version;
  options.filters = {std::string(kUpFilter), std::string(kStateFilter)};
  options.keep_session = false;  // what waited for a worker that died comes again from the sites
  options.status_topic = "";
  options.longest_delay = 5s;
  return options;
}

bool says_online(std::string_view payload) {
  const auto json = nlohmann::json::parse(payload, nullptr, false);
  return json.is_object() && json.value("state", nlohmann::json()) == "online";
}

}  // namespace

class IngestLine::Impl {
 public:
  Impl(const FleetServerConfig& config, std::string password, const Clock& clock)
      : config_(config), password_(std::move(password)), clock_(clock) {}

  Result<bool> make_client(const std::string& version) {
    auto client = Client::create_taking(
        client_options(config_, version),
        [shared = shared_](const Message& message) { shared->take(message); }, clock_);
    if (!client) return client.error();
    client_ = std::move(*client);
    client_->on_change([shared = shared_] { shared->wake(); });
    return true;
  }

  void start() {
    auto worker = std::make_shared<Worker>([this] { return std::optional(step()); }, [] {});
    std::lock_guard lock(shared_->mutex);
    shared_->worker = std::move(worker);
  }

  bool stop(std::chrono::milliseconds limit) {
    const auto worker = [this] {
      std::lock_guard lock(shared_->mutex);
      return std::exchange(shared_->worker, nullptr);
    }();
    const bool ended = !worker || worker->stop(limit);
    return client_->stop(limit) && ended;
  }

  IngestState state() const {
    const ClientStatus status = client_->status();
    std::lock_guard lock(mutex_);
    IngestState state = state_;
    state.broker = status.link == Link::connected && status.subscribed;
    state.broker_since = status.since;
    state.broker_why =
        !status.refused_filters.empty()
            ? fmt::format("the broker does not let us subscribe to {}", status.refused_filters[0])
        : status.detail.empty() ? std::string(link_name(status.link))
                                : status.detail;
    state.unreadable += shared_->unreadable;
    state.dropped = shared_->messages.dropped();
    state.waiting = shared_->messages.size();
    return state;
  }

 private:
  // What Paho's thread leaves here; it may outlive the rest.
  struct Shared {
    Mailbox<SiteMessage> messages{kMostWaiting};
    Mailbox<SiteState> states{kMostStates};
    std::atomic<std::uint64_t> unreadable = 0;
    std::mutex mutex;
    std::shared_ptr<Worker> worker;

    void take(const Message& message) {
      if (auto site = site_of_topic(message.topic, "up"))
        take_message(std::move(*site), message.payload);
      else if (auto named = site_of_topic(message.topic, "state"))
        states.put({std::move(*named), says_online(message.payload), message.arrival});
      wake();
    }
    void take_message(std::string site, std::string_view payload) {
      bool bad = false;
      auto read = site_message(site, payload, bad);
      if (!read || bad) {
        ++unreadable;
        log::limited(log::Level::warning, "unreadable " + site,
                     fmt::format("site {} sent what cannot be read: {}", site,
                                 read ? "its body is damaged" : read.error().what));
      }
      if (read) messages.put(std::move(*read));
    }
    void wake() {
      std::lock_guard lock(mutex);
      if (worker) worker->wake();
    }
  };

  // ---- the worker's thread

  // The broker is asked only once the database answers: a worker that cannot write leaves the sites' messages
  // to others.
  Millis step() {
    if (!store_ || store_->broken())
      if (auto opened = open_store(); !opened) return failed(opened.error());
    if (!std::exchange(started_, true)) client_->start();
    auto done = take_states();
    if (done) done = take_batch();
    if (done) done = forget_old();
    if (!done) return failed(done.error());
    well();
    return shared_->messages.size() > 0 || !batch_.empty() ? 0ms : Millis(1min);
  }

  Result<bool> open_store() {
    store_.reset();
    auto database = Postgres::connect(config_.database, password_);
    if (!database) return database.error();
    if (auto migrated = migrate_fleet(*database); !migrated) return migrated.error();
    if (auto less = database->script(std::string("set role ") + kIntakeRole); !less) return less.error();
    store_.emplace(std::move(*database));
    return true;
  }

  Result<bool> take_states() {
    while (auto state = shared_->states.try_take()) states_.push_back(std::move(*state));
    if (states_.empty()) return true;
    if (auto set = store_->set_states(states_); !set) return set.error();
    states_.clear();
    return true;
  }

  // One that could not be written stays and is tried again.
  Result<bool> take_batch() {
    while (batch_.size() < kBatch)
      if (auto message = shared_->messages.try_take())
        batch_.push_back(std::move(*message));
      else
        break;
    if (batch_.empty()) return true;
    FleetStore::Touched touched;
    for (const SiteMessage& message : batch_) touched.emplace(message.site, message.head.epoch);
    const auto counts = store_->ingest(batch_);
    if (!counts) return counts.error();
    batch_.clear();
    count(*counts);
    const auto answers = store_->have(touched);
    if (!answers) return answers.error();
    for (const SiteHave& answer : *answers)
      if (answer.have.have > 0) client_->publish(have_topic(answer.site), have_payload(answer.have), false);
    std::lock_guard lock(mutex_);
    state_.answers += answers->size();
    return true;
  }

  Result<bool> forget_old() {
    if (clock_.steady() < forget_at_) return true;
    forget_at_ = clock_.steady() + kForgetEvery;
    return store_->forget_old();
  }

  void count(const IngestCounts& counts) {
    std::lock_guard lock(mutex_);
    ++state_.batches;
    state_.counts.fresh += counts.fresh;
    state_.counts.again += counts.again;
    state_.counts.refused += counts.refused;
  }

  Millis failed(const Error& error) {
    log::limited(log::Level::error, "database",
                 fmt::format("the database does not take anything: {}", error.what));
    std::lock_guard lock(mutex_);
    if (state_.database || state_.database_since == kNever) state_.database_since = clock_.utc();
    state_.database = false;
    state_.database_why = error.what;
    retry_ = std::min(kLongestRetry, retry_ * 2);
    return retry_;
  }

  void well() {
    retry_ = kFirstRetry / 2;
    log::limited_over("database", "the database takes messages again");
    std::lock_guard lock(mutex_);
    if (!state_.database) state_.database_since = clock_.utc();
    state_.database = true;
    state_.database_why.clear();
  }

  const FleetServerConfig config_;
  const std::string password_;
  const Clock& clock_;
  std::shared_ptr<Shared> shared_ = std::make_shared<Shared>();
  std::unique_ptr<Client> client_;
  std::optional<FleetStore> store_;
  std::vector<SiteMessage> batch_;
  std::vector<SiteState> states_;
  bool started_ = false;
  Millis retry_ = kFirstRetry / 2;
  std::chrono::steady_clock::time_point forget_at_{};
  mutable std::mutex mutex_;
  IngestState state_;
};

Result<std::unique_ptr<IngestLine>> IngestLine::make(const FleetServerConfig& config, std::string password,
                                                     const std::string& version, const Clock& clock) {
  auto impl = std::make_unique<Impl>(config, std::move(password), clock);
  if (auto made = impl->make_client(version); !made) return made.error();
  return std::unique_ptr<IngestLine>(new IngestLine(std::move(impl)));
}

IngestLine::IngestLine(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
IngestLine::~IngestLine() { impl_->stop(std::chrono::seconds(2)); }
void IngestLine::start() { impl_->start(); }
IngestState IngestLine::state() const { return impl_->state(); }
bool IngestLine::stop(std::chrono::milliseconds limit) { return impl_->stop(limit); }

}  // namespace coilward
