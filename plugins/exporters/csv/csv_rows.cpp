#include "plugins/exporters/csv/csv_rows.h"

#include <algorithm>
#include <array>

namespace coilward_plugins {
namespace {

using Json = nlohmann::json;

// Zone numbers read better without brackets and commas.
std::string numbers(const Json& list) {
  std::string text;
  for (const Json& one : list) text += (text.empty() ? "" : " ") + one.dump();
  return text;
}

bool all_numbers(const Json& list) {
  return list.is_array() &&
         std::all_of(list.begin(), list.end(), [](const Json& one) { return one.is_number(); });
}

std::string cell(const Json& item, const char* key) {
  const auto it = item.find(key);
  if (it == item.end() || it->is_null()) return {};
  if (it->is_string()) return csv_text(it->get_ref<const std::string&>());
  if (it->is_boolean()) return it->get<bool>() ? "1" : "0";
  if (it->is_number()) return it->dump();
  if (all_numbers(*it)) return numbers(*it);
  return csv_text(it->dump());
}

template <std::size_t N>
std::string line(const Json& item, const std::array<const char*, N>& keys) {
  std::string text;
  for (std::size_t i = 0; i < N; ++i) text += (i > 0 ? "," : "") + cell(item, keys[i]);
  return text + "\r\n";
}

template <std::size_t N>
std::string head(const std::array<const char*, N>& keys) {
  std::string text;
  for (std::size_t i = 0; i < N; ++i) text += std::string(i > 0 ? "," : "") + keys[i];
  return text + "\r\n";
}

constexpr std::array kReading = {"time", "channel", "value", "unit"};
constexpr std::array kRun = {
    "start",        "end",         "zone",         "ended",       "commanded",
    "readings",     "hold_amps",   "inrush_amps",  "seat_ms",     "warm_up_per_minute",
    "last_amps",    "lowest_amps", "highest_amps", "dips",        "zone_volts",
    "supply_volts", "common_amps", "soil_celsius", "air_celsius", "shared_with",
    "work_on_site"};
constexpr std::array kFinding = {"updated", "id",     "fault",  "zones",   "severity", "probability",
                                 "opened",  "closed", "common", "summary", "where",    "close_reason"};

constexpr std::array<CsvKind, kCsvKinds> kKinds = {{
    {"readings", "time", [] { return head(kReading); },
     [](const Json& item) { return line(item, kReading); }},
    {"runs", "start", [] { return head(kRun); }, [](const Json& item) { return line(item, kRun); }},
    {"findings", "updated", [] { return head(kFinding); },
     [](const Json& item) { return line(item, kFinding); }},
}};

}  // namespace

const CsvKind& csv_kind(int index) { return kKinds[static_cast<std::size_t>(index)]; }

std::string csv_text(std::string_view text) {
  std::string safe(text);
  if (!safe.empty() && std::string_view("=+-@\t\r").find(safe[0]) != std::string_view::npos)
    safe.insert(0, 1, '\'');
  if (safe.find_first_of(",\"\r\n") == std::string::npos) return safe;
  std::string quoted = "\"";
  for (char c : safe) quoted += c == '"' ? std::string("\"\"") : std::string(1, c);
  return quoted + "\"";
}

}  // namespace coilward_plugins
