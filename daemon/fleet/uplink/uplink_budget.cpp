#include "daemon/fleet/uplink/uplink_budget.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstdio>

namespace coilward {
namespace {

// Parts of what the month allows so far. What is left is for findings.
constexpr double kForHistory = 0.7, kForSummaries = 0.9;
// Days that may be spent ahead, so that the first of a month is not the first day of silence.
constexpr double kAheadDays = 3;

std::chrono::year_month month_of(UtcTime time) {
  const std::chrono::year_month_day day(std::chrono::floor<std::chrono::days>(time));
  return day.year() / day.month();
}

int number_of(std::chrono::year_month month) {
  return static_cast<int>(month.year()) * 12 + static_cast<int>(static_cast<unsigned>(month.month())) - 1;
}

// How much of the month is over, and a little more.
double part_open(UtcTime now) {
  const auto month = month_of(now);
  const std::chrono::sys_days begin{month / 1}, end{(month + std::chrono::months(1)) / 1};
  const double days = static_cast<double>((end - begin).count());
  return std::min(1.0, (seconds_between(begin, now) / 86400 + kAheadDays) / days);
}

}  // namespace

std::uint64_t UplinkBudget::spent(UtcTime now) const {
  return number_of(month_of(now)) == month_ ? spent_ : 0;
}

void UplinkBudget::spend(std::uint64_t bytes, UtcTime now) {
  spent_ = spent(now) + bytes;
  month_ = number_of(month_of(now));
}

bool UplinkBudget::allows(UplinkKind kind, UtcTime now) const {
  if (limit_ == 0 || kind < UplinkKind::runs) return true;
  const double part = kind == UplinkKind::history ? kForHistory : kForSummaries;
  return static_cast<double>(spent(now)) < part * part_open(now) * static_cast<double>(limit_);
}

std::string UplinkBudget::text() const {
  return fmt::format("{:04}-{:02} {}", month_ / 12, month_ % 12 + 1, spent_);
}

void UplinkBudget::restore(const std::string& text) {
  int year = 0, month = 0;
  unsigned long long spent = 0;
  if (std::sscanf(text.c_str(), "%d-%d %llu", &year, &month, &spent) != 3) return;
  month_ = year * 12 + month - 1;
  spent_ = spent;
}

}  // namespace coilward
