#include "daemon/config/table_reader.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <sstream>

namespace coilward {
namespace {

constexpr std::size_t kMostTold = 20;

bool fits(const toml::node& node, KeyType type) {
  switch (type) {
    case KeyType::text:
      return node.is_string();
    case KeyType::integer:
      return node.is_integer();
    case KeyType::number:
      return node.is_number();
    case KeyType::boolean:
      return node.is_boolean();
    case KeyType::numbers:
      return node.is_array() && std::all_of(node.as_array()->begin(), node.as_array()->end(),
                                            [](const toml::node& n) { return n.is_number(); });
    case KeyType::texts:
      return node.is_array() && std::all_of(node.as_array()->begin(), node.as_array()->end(),
                                            [](const toml::node& n) { return n.is_string(); });
  }
  return false;
}

}  // namespace

void Complaints::add(std::uint32_t line, const std::string& what) { list_.push_back({line, what}); }

std::string Complaints::text() const {
  auto sorted = list_;
  std::stable_sort(sorted.begin(), sorted.end(),
                   [](const auto& a, const auto& b) { return a.line < b.line; });
  std::string out;
  for (std::size_t i = 0; i < sorted.size() && i < kMostTold; ++i)
    out += fmt::format("{}{}:{}: {}", i ? "\n" : "", file_, sorted[i].line, sorted[i].text);
  if (sorted.size() > kMostTold) out += fmt::format("\n{}: and {} more", file_, sorted.size() - kMostTold);
  return out;
}

std::string found_text(const toml::node& node) {
  if (node.is_table()) return "a table";
  if (node.is_array()) return "a list";
  std::ostringstream out;
  node.visit([&](const auto& value) {
    if constexpr (toml::is_string<decltype(value)>)
      out << '"' << value.get() << '"';
    else if constexpr (toml::is_value<decltype(value)>)
      out << value;
  });
  return out.str();
}

TableReader::TableReader(const toml::table& table, const char* name, Complaints& complaints)
    : table_(table), name_(name), complaints_(complaints) {
  if (!find_table(name)->open) complain_of_unknown();
  for (const auto& spec : config_keys())
    if (std::string_view(spec.table) == name && spec.required && !table.contains(spec.key))
      complaints.add(line(), fmt::format("{}.{}: missing; needed: {}, {}", name, spec.key, allowed_text(spec),
                                         spec.help));
}

void TableReader::complain_of_unknown() const {
  std::vector<std::string> known;
  for (const auto& spec : config_keys())
    if (std::string_view(spec.table) == name_) known.emplace_back(spec.key);
  for (const auto& [key, node] : table_) {
    if (find_key(name_, key.str())) continue;
    complaints_.add(key.source().begin.line,
                    fmt::format("{}.{}: unknown key; {}", name_, key.str(), suggestion(key.str(), known)));
  }
}

std::uint32_t TableReader::line_of(const char* key) const {
  const auto it = table_.find(key);
  return it == table_.end() ? line() : it->first.source().begin.line;
}

void TableReader::complain(const char* key, const std::string& what) const {
  complaints_.add(line_of(key), fmt::format("{}.{}: {}", name_, key, what));
}

const toml::node* TableReader::checked(const char* key, KeyType type) const {
  const toml::node* node = table_.get(key);
  if (!node || fits(*node, type)) return node;
  complain(key,
           fmt::format("found {}; allowed is {}", found_text(*node), allowed_text(*find_key(name_, key))));
  return nullptr;
}

bool TableReader::in_range(const char* key, double value) const {
  const KeySpec& spec = *find_key(name_, key);
  if (std::isfinite(value) && (spec.low > spec.high || (value >= spec.low && value <= spec.high)))
    return true;
  complain(key, fmt::format("found {}; allowed is {}", value, allowed_text(spec)));
  return false;
}

std::string TableReader::text(const char* key, std::string otherwise) const {
  const auto* node = checked(key, KeyType::text);
  return node ? node->as_string()->get() : otherwise;
}

double TableReader::number(const char* key, double otherwise) const {
  const auto* node = checked(key, KeyType::number);
  if (!node) return otherwise;
  const double value = *node->value<double>();
  return in_range(key, value) ? value : otherwise;
}

int TableReader::integer(const char* key, int otherwise) const {
  const auto* node = checked(key, KeyType::integer);
  if (!node) return otherwise;
  const auto value = node->as_integer()->get();
  return in_range(key, static_cast<double>(value)) ? static_cast<int>(value) : otherwise;
}

bool TableReader::boolean(const char* key, bool otherwise) const {
  const auto* node = checked(key, KeyType::boolean);
  return node ? node->as_boolean()->get() : otherwise;
}

std::vector<double> TableReader::numbers(const char* key, std::vector<double> otherwise) const {
  const auto* node = checked(key, KeyType::numbers);
  if (!node) return otherwise;
  std::vector<double> out;
  for (const auto& item : *node->as_array())
    if (const double value = *item.value<double>(); in_range(key, value)) out.push_back(value);
  return out;
}

std::vector<std::string> TableReader::texts(const char* key) const {
  const auto* node = checked(key, KeyType::texts);
  if (!node) return {};
  std::vector<std::string> out;
  for (const auto& item : *node->as_array()) out.push_back(item.as_string()->get());
  return out;
}

nlohmann::ordered_json TableReader::own_keys() const {
  auto out = nlohmann::ordered_json::object();
  for (const auto& [key, node] : table_)
    if (!find_key(name_, key.str())) out[std::string(key.str())] = to_json(node);
  return out;
}

nlohmann::ordered_json to_json(const toml::node& node) {
  if (const auto* table = node.as_table()) {
    auto out = nlohmann::ordered_json::object();
    for (const auto& [key, item] : *table) out[std::string(key.str())] = to_json(item);
    return out;
  }
  if (const auto* array = node.as_array()) {
    auto out = nlohmann::ordered_json::array();
    for (const auto& item : *array) out.push_back(to_json(item));
    return out;
  }
  if (node.is_string()) return node.as_string()->get();
  if (node.is_integer()) return node.as_integer()->get();
  if (node.is_floating_point()) return node.as_floating_point()->get();
  if (node.is_boolean()) return node.as_boolean()->get();
  return found_text(node);  // dates and times: as text
}

}  // namespace coilward
