#include "daemon/broker_link.h"

#include <fmt/format.h>

#include "daemon/metrics_of.h"
#include "daemon/mqtt/client.h"
#include "daemon/mqtt/spool.h"

namespace coilward {
namespace {

// On tmpfs, which is memory: an hour of a large site's messages, and far below what a small board has.
constexpr std::uint64_t kSpoolBytes = 32U << 20;
// A site says something at least this often: idle readings come every minute or so.
constexpr double kQuietSeconds = 600;

}  // namespace

class BrokerLink::Parts {
 public:
  std::shared_ptr<Spool> spool;
  std::unique_ptr<Client> client;
  const Clock* clock = nullptr;
};

Result<std::unique_ptr<BrokerLink>> BrokerLink::open(const Config& config, const std::string& version,
                                                     std::vector<std::string> filters,
                                                     std::uint64_t first_sequence, const Clock& clock) {
  auto parts = std::make_unique<Parts>();
  parts->clock = &clock;
  auto spool = Spool::open(config.paths.run + "/spool", kSpoolBytes, first_sequence);
  if (!spool) return spool.error();
  parts->spool = std::move(*spool);
  ClientOptions options;
  options.mqtt = config.mqtt;
  options.site = config.site.id;
  options.version = version;
  options.filters = std::move(filters);
  auto client = Client::create(std::move(options), parts->spool, clock);
  if (!client) return client.error();
  parts->client = std::move(*client);
  return std::unique_ptr<BrokerLink>(new BrokerLink(std::move(parts)));
}

BrokerLink::BrokerLink(std::unique_ptr<Parts> parts) : parts_(std::move(parts)) {}
BrokerLink::~BrokerLink() = default;

void BrokerLink::on_arrival(std::function<void()> wake) { parts_->spool->on_arrival(std::move(wake)); }
void BrokerLink::on_change(std::function<void()> changed) { parts_->client->on_change(std::move(changed)); }
void BrokerLink::start() { parts_->client->start(); }
std::size_t BrokerLink::read(std::uint64_t after, std::size_t at_most,
                             const std::function<void(const Message&)>& visit) {
  return parts_->spool->read(after, at_most, visit);
}
void BrokerLink::trim(std::uint64_t sequence) { parts_->spool->trim(sequence); }
void BrokerLink::publish(const std::string& topic, const std::string& payload, bool retained) {
  parts_->client->publish(topic, payload, retained);
}
bool BrokerLink::stop(std::chrono::milliseconds limit) { return parts_->client->stop(limit); }

std::uint64_t BrokerLink::newly_lost() {
  const std::uint64_t all = lost();
  return all - std::exchange(lost_, all);
}

std::uint64_t BrokerLink::lost() const {
  const SpoolStatus status = parts_->spool->status();
  return status.dropped + status.refused;
}

void BrokerLink::set_time_unsure(bool unsure) {
  time_unsure_ = unsure;
  parts_->client->set_time_unsure(unsure);
}

BrokerState BrokerLink::state() const {
  const ClientStatus status = parts_->client->status();
  BrokerState state;
  state.connected = status.link == Link::connected;
  state.since = status.since;
  state.heard_lately = status.last_message != kNever &&
                       seconds_between(status.last_message, parts_->clock->utc()) < kQuietSeconds;
  state.id_contested = status.id_contested;
  state.refused = fmt::format("{}", fmt::join(status.refused_filters, ", "));
  if (!state.connected)
    state.why = status.detail.empty() ? std::string(link_name(status.link)) : status.detail;
  else if (status.id_contested)
    state.why = "another client uses our client id";
  else if (!state.refused.empty())
    state.why = fmt::format("the broker does not let us subscribe to {}", state.refused);
  return state;
}

void BrokerLink::add_metrics(std::vector<Metric>& list) const {
  const ClientStatus client = parts_->client->status();
  const SpoolStatus spool = parts_->spool->status();
  add_gauge(list, "coilward_broker_connected", "1 while the broker is connected.",
            client.link == Link::connected ? 1 : 0);
  add_counter(list, "coilward_broker_messages", "Messages taken from the broker.", double(client.messages));
  add_counter(list, "coilward_broker_connects", "Times connected.", double(client.connects));
  add_counter(list, "coilward_reports_published", "Reports acknowledged by the broker.",
              double(client.published));
  add_counter(list, "coilward_reports_dropped", "Reports given up.", double(client.outgoing_dropped));
  add_gauge(list, "coilward_spool_bytes", "Size of the spool.", double(spool.bytes));
  add_counter(list, "coilward_spool_dropped", "Messages lost because the spool was full.",
              double(spool.dropped + spool.refused));
}

}  // namespace coilward
