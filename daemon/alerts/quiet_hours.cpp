#include "daemon/alerts/quiet_hours.h"

#include <date/tz.h>

#include <stdexcept>

namespace coilward {
namespace {

using LocalTime = date::local_time<Millis>;

class Zone {
 public:
  explicit Zone(const std::string& name) {
    try {
      zone_ = date::locate_zone(name);
    } catch (const std::runtime_error&) {  // UTC
    }
  }
  date::local_days day_of(UtcTime time) const {
    const date::sys_time<Millis> sys{time.time_since_epoch()};
    const auto offset = zone_ ? zone_->get_info(sys).offset : std::chrono::seconds{0};
    return date::floor<date::days>(LocalTime{sys.time_since_epoch() + offset});
  }
  // Of the two instants of an hour that comes twice the earlier or the later; of one that is left out the
  // change.
  UtcTime instant(LocalTime local, bool later) const {
    if (!zone_) return UtcTime{local.time_since_epoch()};
    const auto info = zone_->get_info(local);
    if (info.result == date::local_info::nonexistent)
      return UtcTime{std::chrono::duration_cast<Millis>(info.first.end.time_since_epoch())};
    const bool second = later && info.result == date::local_info::ambiguous;
    return UtcTime{local.time_since_epoch() - (second ? info.second.offset : info.first.offset)};
  }

 private:
  const date::time_zone* zone_ = nullptr;
};

LocalTime at_minute(date::local_days day, int minute) {
  return LocalTime{day} + std::chrono::minutes{minute};
}

}  // namespace

std::optional<UtcTime> quiet_until(const QuietHours& hours, UtcTime now, const std::string& timezone) {
  const Zone zone(timezone);
  const auto today = zone.day_of(now);
  const date::days over_midnight{hours.end <= hours.start ? 1 : 0};
  for (int back = 2; back >= 0; --back) {  // two: 24:00 of the day before yesterday is a beginning too
    const auto day = today - date::days{back};
    const UtcTime start = zone.instant(at_minute(day, hours.start), false);
    const UtcTime end = zone.instant(at_minute(day + over_midnight, hours.end), true);
    if (start <= now && now < end) return end;
  }
  return std::nullopt;
}

UtcTime next_at(int minute, UtcTime now, const std::string& timezone) {
  const Zone zone(timezone);
  for (auto day = zone.day_of(now) - date::days{1};; day += date::days{1})
    if (const UtcTime at = zone.instant(at_minute(day, minute), false); at > now) return at;
}

}  // namespace coilward
