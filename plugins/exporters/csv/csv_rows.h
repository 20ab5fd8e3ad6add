// Items of a batch as CSV lines: RFC 4180, times in UTC as RFC 3339, the unit in a column of its own. A text
// cell that a spreadsheet would take for a formula gets an apostrophe in front. Thread: any.
#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <string_view>

namespace coilward_plugins {

// What a batch holds: its JSON array, the file it goes to, and the key whose day decides which file.
struct CsvKind {
  const char* array;     // "readings"
  const char* time_key;  // "time"
  std::string (*header)();
  std::string (*row)(const nlohmann::json& item);
};
inline constexpr int kCsvKinds = 3;
const CsvKind& csv_kind(int index);

std::string csv_text(std::string_view text);

}  // namespace coilward_plugins
