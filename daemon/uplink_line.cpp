#include "daemon/uplink_line.h"

#include <fmt/format.h>

#include "daemon/metrics_of.h"

namespace coilward {

Result<UplinkLine> UplinkLine::open(const Config& config, const std::string& version, const Clock& clock) {
  UplinkLine line;
  if (!config.fleet.on()) return line;
  auto uplink = Uplink::open(config, version, clock);
  if (!uplink) return uplink.error();
  line.uplink_ = std::move(*uplink);
  return line;
}

void UplinkLine::start() {
  if (uplink_) uplink_->start();
}

void UplinkLine::wake() {
  if (uplink_) uplink_->wake();
}

void UplinkLine::tell(const std::vector<HealthStage>& stages) {
  if (!uplink_) return;
  Json troubles = Json::array();
  for (const auto& stage : stages)
    if (!stage.ok)
      troubles.push_back({{"stage", stage.name}, {"why", stage.why}, {"since", time_or_null(stage.since)}});
  std::string text = troubles.dump(-1, ' ', false, Json::error_handler_t::replace);
  if (text == told_) return;
  uplink_->set_troubles(troubles);
  told_ = std::move(text);
}

void UplinkLine::add_health(std::vector<HealthStage>& list) const {
  if (!uplink_) return;
  const UplinkState state = uplink_->state();
  std::string why = state.trouble;
  if (why.empty() && state.month_limit > 0)
    why = fmt::format("{:.2f} of {:.2f} MB used this month", static_cast<double>(state.month_bytes) / 1e6,
                      static_cast<double>(state.month_limit) / 1e6);
  list.push_back({"fleet", state.trouble.empty(), std::move(why), state.since});
}

void UplinkLine::add_metrics(std::vector<Metric>& list) const {
  if (!uplink_) return;
  const UplinkState s = uplink_->state();
  add_gauge(list, "coilward_fleet_connected", "1 while the fleet's broker is connected.",
            s.connected ? 1 : 0);
  add_gauge(list, "coilward_fleet_waiting", "Messages that the fleet has not confirmed.",
            double(s.outbox.waiting));
  add_counter(list, "coilward_fleet_sent", "Messages sent to the fleet.", double(s.sent));
  add_counter(list, "coilward_fleet_resent", "Messages sent again.", double(s.resent));
  add_counter(list, "coilward_fleet_confirmed", "Messages that the fleet has, of this epoch.",
              double(s.have));
  add_counter(list, "coilward_fleet_damaged", "Messages that were damaged here and taken anew.",
              double(s.outbox.damaged));
  add_counter(list, "coilward_fleet_bytes", "Bytes sent to the fleet, with what each message costs beside.",
              double(s.sent_bytes));
  add_gauge(list, "coilward_fleet_month_bytes", "Bytes this calendar month (UTC).", double(s.month_bytes));
  add_gauge(list, "coilward_fleet_month_limit", "Bytes that a month may have; 0: no limit.",
            double(s.month_limit));
}

bool UplinkLine::stop(std::chrono::milliseconds limit) { return !uplink_ || uplink_->stop(limit); }

}  // namespace coilward
