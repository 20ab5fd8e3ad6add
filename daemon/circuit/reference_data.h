// For tests: the tables in tests/reference, each with a SOURCE.md that says where its figures were read.
#pragma once

#include <gtest/gtest.h>

#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>
#include <vector>

namespace coilward::circuit {

inline std::ifstream open_reference(const std::string& name) {
  std::ifstream file(std::string(COILWARD_SOURCE_DIR) + "/tests/reference/" + name);
  EXPECT_TRUE(file) << name;
  return file;
}

inline std::vector<std::string> split_line(const std::string& line) {
  std::vector<std::string> cells;
  std::istringstream in(line);
  for (std::string cell; std::getline(in, cell, ',');) cells.push_back(cell);
  return cells;
}

struct ReferenceRow {
  std::map<std::string, std::string> cells;  // by column name
  const std::string& text(const std::string& column) const { return cells.at(column); }
  double number(const std::string& column) const { return std::stod(cells.at(column)); }
  // Half a unit of the last printed digit: as near as a printed figure can be asked to be.
  double half_digit(const std::string& column) const {
    const std::string& cell = cells.at(column);
    const auto point = cell.find('.');
    return point == std::string::npos ? 0.5 : 0.5 * std::pow(10.0, -double(cell.size() - point - 1));
  }
};

inline std::vector<ReferenceRow> reference_table(const std::string& name) {
  std::ifstream file = open_reference(name);
  std::string line;
  std::getline(file, line);
  const auto columns = split_line(line);
  std::vector<ReferenceRow> rows;
  while (std::getline(file, line)) {
    const auto cells = split_line(line);
    ReferenceRow row;
    for (std::size_t i = 0; i < cells.size(); ++i) row.cells[columns.at(i)] = cells[i];
    rows.push_back(std::move(row));
  }
  return rows;
}

inline nlohmann::json worked_example(const std::string& name, const std::string& id) {
  std::ifstream file = open_reference(name);
  for (const auto& example : nlohmann::json::parse(file))
    if (example.at("id") == id) return example;
  ADD_FAILURE() << "no example " << id;
  return {};
}

}  // namespace coilward::circuit
