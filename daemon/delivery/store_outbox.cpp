#include "daemon/delivery/store_outbox.h"

#include <nlohmann/json.hpp>

namespace coilward {

Result<std::optional<WaitingAlert>> StoreOutbox::next(UtcTime now) {
  auto item = table_.next(notifier_, now);
  if (!item) return item.error();
  if (!*item) return std::optional<WaitingAlert>();
  WaitingAlert alert = waiting_alert((*item)->what);
  alert.row = (*item)->row;
  alert.attempts = (*item)->attempts;
  return std::optional(std::move(alert));
}

WaitingAlert waiting_alert(const OutboxRow& row) { return {0, row.alert, row.json, row.due, 0}; }

std::vector<OutboxRow> outbox_rows(const Alert& alert, const Config& config, UtcTime now) {
  std::vector<OutboxRow> rows;
  if (alert.kind == AlertKind::test) return rows;
  const std::string json = alert_to_json(alert).dump(-1, ' ', false, Json::error_handler_t::replace);
  for (const auto& notifier : config.notifiers)
    if (alert.severity >= notifier.at_least) rows.push_back({alert.id, notifier.name, json, now});
  return rows;
}

}  // namespace coilward
