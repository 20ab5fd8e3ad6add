#include "daemon/cli/table.h"

#include <algorithm>

namespace coilward {
namespace {

void append_row(std::string& out, const std::vector<std::string>& cells, const std::vector<Column>& columns,
                const std::vector<std::size_t>& widths) {
  std::string line;
  for (std::size_t i = 0; i < columns.size(); ++i) {
    const std::string blanks(widths[i] - width_of(cells[i]), ' ');
    line += i == 0 ? "" : "  ";
    line += columns[i].right ? blanks + cells[i] : cells[i] + blanks;
  }
  line.erase(line.find_last_not_of(' ') + 1);
  out += line + "\n";
}

}  // namespace

std::size_t width_of(std::string_view text) {
  return static_cast<std::size_t>(std::count_if(
      text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }));
}

std::string Table::text() const {
  std::vector<std::size_t> widths;
  std::vector<std::string> titles;
  for (std::size_t i = 0; i < columns_.size(); ++i) {
    titles.push_back(columns_[i].title);
    widths.push_back(width_of(columns_[i].title));
    for (const auto& row : rows_) widths[i] = std::max(widths[i], width_of(row[i]));
  }
  std::string out;
  append_row(out, titles, columns_, widths);
  for (const auto& row : rows_) append_row(out, row, columns_, widths);
  return out;
}

}  // namespace coilward
