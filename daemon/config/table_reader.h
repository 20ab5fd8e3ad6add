// Reads one TOML table against the table of keys, and collects what is wrong with it.
#pragma once

#include <toml++/toml.h>

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "daemon/config/keys.h"

namespace coilward {

// Everything wrong with one file, in the order of its lines; the first twenty are told.
class Complaints {
 public:
  explicit Complaints(std::string file) : file_(std::move(file)) {}
  void add(std::uint32_t line, const std::string& what);
  bool empty() const { return list_.empty(); }
  std::string text() const;
  const std::string& file() const { return file_; }

 private:
  struct Complaint {
    std::uint32_t line;
    std::string text;
  };
  std::string file_;
  std::vector<Complaint> list_;
};

class TableReader {
 public:
  // name: as in KeySpec::table. Complains at once of unknown keys (not in an open table: the plugin host
  // knows the plugin's) and missing required ones.
  TableReader(const toml::table& table, const char* name, Complaints& complaints);

  bool has(const char* key) const { return table_.contains(key); }
  // The value, or `otherwise` when it is not there or not as it should be (which is complained of).
  std::string text(const char* key, std::string otherwise = "") const;
  double number(const char* key, double otherwise) const;
  int integer(const char* key, int otherwise) const;
  bool boolean(const char* key, bool otherwise) const;
  std::vector<std::string> texts(const char* key) const;  // empty when left out
  std::vector<double> numbers(const char* key, std::vector<double> otherwise) const;
  // The keys of an open table that are the plugin's.
  nlohmann::ordered_json own_keys() const;

  std::uint32_t line() const { return table_.source().begin.line; }
  std::uint32_t line_of(const char* key) const;
  // "4: zone.box: ..." at the key's line.
  void complain(const char* key, const std::string& what) const;

 private:
  void complain_of_unknown() const;
  const toml::node* checked(const char* key, KeyType type) const;
  bool in_range(const char* key, double value) const;

  const toml::table& table_;
  const char* name_;
  Complaints& complaints_;
};

// A value of the file as JSON.
nlohmann::ordered_json to_json(const toml::node& node);

// What was found, for a message: "\"abc\"", "3.5", "a table".
std::string found_text(const toml::node& node);

}  // namespace coilward
