#include "daemon/history/export.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "daemon/base/pipeline_json.h"

namespace coilward {
namespace {

// One line of either CSV form.
class CsvLine {
 public:
  CsvLine(std::string& out, ExportForm form)
      : out_(out),
        separator_(form == ExportForm::csv_excel ? ';' : ','),
        decimal_(form == ExportForm::csv_excel ? ',' : '.') {}
  ~CsvLine() { out_ += "\r\n"; }  // RFC 4180 section 2

  CsvLine& text(std::string_view cell) { return raw(csv_cell(cell, separator_)); }
  CsvLine& number(double value) { return raw(csv_number(value, decimal_)); }
  CsvLine& count(std::uint64_t value) { return raw(fmt::format("{}", value)); }
  CsvLine& flag(bool value) { return raw(value ? "1" : "0"); }
  // Two cells: ISO 8601 in UTC, and Unix seconds.
  CsvLine& time(UtcTime time) {
    if (time == kNever) return raw("").raw("");
    const auto ms = to_ms(time);
    const auto seconds = ms / 1000 - (ms % 1000 < 0);
    return raw(format_rfc3339(time)).raw(fmt::format("{}{}{:03}", seconds, decimal_, ms - seconds * 1000));
  }

 private:
  CsvLine& raw(std::string_view cell) {
    if (!first_) out_ += separator_;
    first_ = false;
    out_ += cell;
    return *this;
  }
  std::string& out_;
  char separator_, decimal_;
  bool first_ = true;
};

std::string header(ExportForm form, std::initializer_list<std::string_view> names) {
  if (form == ExportForm::json_lines) return "";
  std::string out = form == ExportForm::csv_excel ? "\xEF\xBB\xBF" : "";
  {
    CsvLine line(out, form);
    for (const auto name : names) line.text(name);
  }
  return out;
}

double unix_seconds(UtcTime time) { return static_cast<double>(to_ms(time)) / 1000; }

void append_json(std::string& out, const Json& json) { (out += json.dump()) += '\n'; }

std::string zones_text(const std::vector<int>& zones) { return fmt::format("{}", fmt::join(zones, " ")); }

}  // namespace

std::string csv_cell(std::string_view text, char separator) {
  const bool formula =
      !text.empty() && std::string_view("=+-@\t\r").find(text.front()) != std::string_view::npos;
  std::string cell = formula ? "'" : "";
  cell += text;
  const bool quote =
      cell.find_first_of("\"\r\n") != std::string::npos || cell.find(separator) != std::string::npos;
  if (!quote) return cell;
  std::string quoted = "\"";
  for (const char c : cell) (c == '"' ? quoted += '"' : quoted) += c;
  return quoted += '"';
}

std::string csv_number(double value, char decimal) {
  if (std::isnan(value)) return "";
  auto text = fmt::format("{}", value);
  if (decimal != '.') std::replace(text.begin(), text.end(), '.', decimal);
  return text;
}

std::string readings_header(ExportForm form) {
  return header(form, {"time (UTC)", "unix (s)", "channel", "value", "unit", "time_unsure"});
}

std::string buckets_header(ExportForm form) {
  return header(form, {"time (UTC)", "unix (s)", "until (UTC)", "until unix (s)", "channel", "count",
                       "lowest", "mean", "highest", "unit"});
}

std::string runs_header(ExportForm form) {
  return header(
      form, {"start (UTC)", "start unix (s)", "end (UTC)",   "end unix (s)", "zone",        "ended",
             "commanded",   "readings",       "inrush (A)",  "seat (ms)",    "hold (A)",    "hold spread (A)",
             "last (A)",    "lowest (A)",     "highest (A)", "dips",         "zone (V)",    "supply (V)",
             "common (A)",  "soil (Cel)",     "air (Cel)",   "shared with",  "work on site"});
}

void append_readings(std::string& out, ExportForm form, std::span<const Reading> readings,
                     const ChannelNames& names) {
  for (const auto& r : readings) {
    const auto channel = names.text(r.channel);
    const auto unit = channel_unit(r.channel.kind);
    if (form == ExportForm::json_lines)
      append_json(out, {{"time", format_rfc3339(r.time)},
                        {"unix_s", unix_seconds(r.time)},
                        {"channel", channel},
                        {"value", r.value},
                        {"unit", unit},
                        {"time_unsure", r.time_unsure}});
    else
      CsvLine(out, form).time(r.time).text(channel).number(r.value).text(unit).flag(r.time_unsure);
  }
}

void append_buckets(std::string& out, ExportForm form, std::span<const Bucket> buckets, Channel channel,
                    const ChannelNames& names) {
  const auto name = names.text(channel);
  const auto unit = channel_unit(channel.kind);
  for (const auto& b : buckets) {
    const auto& v = b.values;
    if (form == ExportForm::json_lines)
      append_json(out, {{"time", format_rfc3339(b.start)},
                        {"unix_s", unix_seconds(b.start)},
                        {"until", format_rfc3339(b.end)},
                        {"channel", name},
                        {"count", v.count},
                        {"lowest", number_or_null(v.lowest)},
                        {"mean", number_or_null(v.mean())},
                        {"highest", number_or_null(v.highest)},
                        {"unit", unit}});
    else
      CsvLine(out, form)
          .time(b.start)
          .time(b.end)
          .text(name)
          .count(v.count)
          .number(v.lowest)
          .number(v.mean())
          .number(v.highest)
          .text(unit);
  }
}

void append_runs(std::string& out, ExportForm form, std::span<const Run> runs) {
  for (const auto& r : runs) {
    if (form == ExportForm::json_lines) {
      append_json(out, run_to_json(r));
      continue;
    }
    CsvLine line(out, form);
    line.time(r.start).time(r.end).count(static_cast<std::uint64_t>(r.zone)).text(run_end_name(r.ended));
    line.flag(r.commanded).count(r.readings);
    for (const double value : {r.inrush_amps, r.seat_ms, r.hold_amps, r.hold_spread_amps, r.last_amps,
                               r.lowest_amps, r.highest_amps})
      line.number(value);
    line.count(r.dips);
    for (const double value : {r.zone_volts, r.supply_volts, r.common_amps, r.soil_celsius, r.air_celsius})
      line.number(value);
    line.text(zones_text(r.shared_with)).flag(r.work_on_site);
  }
}

}  // namespace coilward
