// A table for people: columns as wide as they must be, numbers to the right. Thread: any.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace coilward {

struct Column {
  std::string title;
  bool right = false;
};

class Table {
 public:
  explicit Table(std::vector<Column> columns) : columns_(std::move(columns)) {}
  // As many cells as there are columns.
  void add(std::vector<std::string> cells) { rows_.push_back(std::move(cells)); }
  bool empty() const { return rows_.empty(); }
  // Title line and rows, each ended; two blanks between columns, none at the end of a line.
  std::string text() const;

 private:
  std::vector<Column> columns_;
  std::vector<std::vector<std::string>> rows_;
};

// Characters (code points) of a UTF-8 text.
std::size_t width_of(std::string_view text);

}  // namespace coilward
