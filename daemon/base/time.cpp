#include "daemon/base/time.h"

#include <fmt/format.h>

namespace coilward {
namespace {

struct Civil {
  std::chrono::year_month_day day;
  std::chrono::hh_mm_ss<Millis> clock;
};

Civil split(UtcTime time) {
  const auto day = std::chrono::floor<std::chrono::days>(time);
  return {std::chrono::year_month_day{day}, std::chrono::hh_mm_ss<Millis>{time - day}};
}

// Reads digits off the front of a text. Every function leaves the text as it is when it does not fit.
class Scanner {
 public:
  explicit Scanner(std::string_view text) : text_(text) {}

  bool digits(int count, int& value) {
    if (text_.size() < static_cast<std::size_t>(count)) return false;
    int sum = 0;
    for (int i = 0; i < count; ++i) {
      if (text_[i] < '0' || text_[i] > '9') return false;
      sum = sum * 10 + (text_[i] - '0');
    }
    value = sum;
    text_.remove_prefix(count);
    return true;
  }

  bool one_of(std::string_view choices) {
    if (text_.empty() || choices.find(text_.front()) == std::string_view::npos) return false;
    last_ = text_.front();
    text_.remove_prefix(1);
    return true;
  }

  // ".25" -> 250. No point is 0; a point without digits is an error.
  bool fraction_ms(int& ms) {
    ms = 0;
    if (!one_of(".,")) return true;
    int scale = 100, seen = 0, digit = 0;
    for (; digits(1, digit); ++seen, scale /= 10) ms += digit * scale;
    return seen > 0;
  }

  char last() const { return last_; }
  bool done() const { return text_.empty(); }

 private:
  std::string_view text_;
  char last_ = 0;
};

// "Z", "+hh:mm", "+hhmm", "+hh".
bool scan_offset(Scanner& in, int& minutes) {
  minutes = 0;
  if (in.one_of("Zz")) return true;
  if (!in.one_of("+-")) return false;
  const int sign = in.last() == '-' ? -1 : 1;
  int hours = 0, rest = 0;
  if (!in.digits(2, hours)) return false;
  const bool colon = in.one_of(":");
  if (!in.digits(2, rest) && colon) return false;
  minutes = sign * (hours * 60 + rest);
  return hours < 24 && rest < 60;
}

}  // namespace

std::string format_rfc3339(UtcTime time) {
  const auto [day, clock] = split(time);
  return fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}.{:03}Z", int(day.year()), unsigned(day.month()),
                     unsigned(day.day()), clock.hours().count(), clock.minutes().count(),
                     clock.seconds().count(), clock.subseconds().count());
}

std::string format_compact(UtcTime time) {
  const auto [day, clock] = split(time);
  return fmt::format("{:04}{:02}{:02}-{:02}{:02}{:02}", int(day.year()), unsigned(day.month()),
                     unsigned(day.day()), clock.hours().count(), clock.minutes().count(),
                     clock.seconds().count());
}

std::optional<UtcTime> parse_rfc3339(std::string_view text) {
  Scanner in(text);
  int year = 0, month = 0, day = 0, hour = 0, minute = 0, second = 0, ms = 0, offset = 0;
  if (!in.digits(4, year) || !in.one_of("-") || !in.digits(2, month) || !in.one_of("-") || !in.digits(2, day))
    return {};
  if (!in.one_of("Tt ") || !in.digits(2, hour) || !in.one_of(":") || !in.digits(2, minute)) return {};
  if (!in.one_of(":") || !in.digits(2, second) || !in.fraction_ms(ms) || !scan_offset(in, offset)) return {};
  using namespace std::chrono;
  const year_month_day date{std::chrono::year{year}, std::chrono::month(month), std::chrono::day(day)};
  if (!in.done() || !date.ok() || hour > 23 || minute > 59 || second > 60) return {};
  return UtcTime{sys_days{date}} + hours{hour} + minutes{minute - offset} + seconds{second} + Millis{ms};
}

}  // namespace coilward
