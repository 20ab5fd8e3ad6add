#include "daemon/delivery/store_outbox.h"

#include <nlohmann/json.hpp>

namespace coilward {

// True: the file is another one than before, and open.
Result<bool> StoreOutbox::follow() {
  const auto file = file_identity(path_);
  if (file == file_) return false;
  auto table = Outbox::open(path_);
  if (!table) return table.error();
  table_ = std::move(*table);
  file_ = file;
  return true;
}

// A row number of the file that was moved aside may be another alert's by now, so the fate is not written:
// the alert, if it was carried over, is delivered once more under its id.
template <class Change>
Result<bool> StoreOutbox::mark(Change change) {
  const auto another = follow();
  if (!another || *another) return another;
  return change();
}

Result<bool> StoreOutbox::done(std::int64_t row, UtcTime now, const std::string& words) {
  return mark([&] { return table_.done(row, now, words); });
}
Result<bool> StoreOutbox::retry(std::int64_t row, UtcTime next, const std::string& words) {
  return mark([&] { return table_.retry(row, next, words); });
}
Result<bool> StoreOutbox::refused(std::int64_t row, UtcTime now, const std::string& words) {
  return mark([&] { return table_.refused(row, now, words); });
}
Result<bool> StoreOutbox::give_up(std::int64_t row, UtcTime now, const std::string& words) {
  return mark([&] { return table_.give_up(row, now, words); });
}

Result<UtcTime> StoreOutbox::next_time() {
  if (const auto followed = follow(); !followed) return followed.error();
  return table_.next_time(notifier_);
}

Result<std::optional<WaitingAlert>> StoreOutbox::next(UtcTime now) {
  if (const auto followed = follow(); !followed) return followed.error();
  auto item = table_.next(notifier_, now);
  if (!item) return item.error();
  if (!*item) return std::optional<WaitingAlert>();
  WaitingAlert alert = waiting_alert((*item)->what);
  alert.row = (*item)->row;
  alert.attempts = (*item)->attempts;
  return std::optional(std::move(alert));
}

WaitingAlert waiting_alert(const OutboxRow& row) { return {0, row.alert, row.json, row.due, 0}; }

}  // namespace coilward
