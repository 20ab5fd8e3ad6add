// The one table of configuration keys: what checks a file, and what documents it.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace coilward {

enum class KeyType { text, integer, number, boolean, numbers, texts };

struct KeySpec {
  const char* table;  // "mqtt"; "zone" for [[zone]]
  const char* key;
  KeyType type;
  const char* unit;  // "" where there is none
  double low, high;  // of numbers; low > high: any
  bool required;
  const char* otherwise;  // the default, as the documentation prints it
  const char* help;
};

std::span<const KeySpec> config_keys();
const KeySpec* find_key(std::string_view table, std::string_view key);
// Whose file a table may stand in.
enum class FileRole { site, fleet, both };

// Tables of the file by name.
struct TableSpec {
  const char* name;
  bool array;  // [[zone]]: once for each
  bool open;   // names a plugin, whose own keys stand beside these
  const char* help;
  FileRole role = FileRole::site;
};
std::span<const TableSpec> config_tables();
const TableSpec* find_table(std::string_view name);

// "a number from 0 to 5 (A)": what is allowed.
std::string allowed_text(const KeySpec& spec);
// The nearest of `known` when it is near enough to be a slip; empty otherwise.
std::string nearest(std::string_view wrong, const std::vector<std::string>& known);
// "did you mean 'box'?", or "known are a, b" when nothing is near.
std::string suggestion(std::string_view wrong, const std::vector<std::string>& known);
// Every table and key as a Markdown document: config/REFERENCE.md.
std::string config_reference();

}  // namespace coilward
