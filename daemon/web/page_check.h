// What the tests of this folder hold a page to: elements opened and closed in order, attributes in quotes,
// nothing raw in the text. Not a parser of HTML: of the part of it that our own pages keep to.
#pragma once

#include <algorithm>
#include <array>
#include <string>
#include <string_view>
#include <vector>

namespace coilward {

class PageCheck {
 public:
  explicit PageCheck(std::string_view text) : rest_(text) {}

  // Empty: well formed. Otherwise what is wrong, and where.
  std::string fault() {
    while (!rest_.empty() && wrong_.empty()) rest_.front() == '<' ? take_tag() : take_text();
    if (wrong_.empty() && !open_.empty()) wrong_ = "not closed: " + open_.back();
    return wrong_;
  }

 private:
  static bool is_void(std::string_view name) {
    constexpr std::array<std::string_view, 5> names = {"meta", "link", "input", "br", "!doctype"};
    return std::find(names.begin(), names.end(), name) != names.end();
  }
  void fail(const std::string& what) { wrong_ = what + " at: " + std::string(rest_.substr(0, 120)); }

  void take_text() {
    const std::string_view text = rest_.substr(0, rest_.find('<'));
    check_text(text, "text");
    rest_.remove_prefix(text.size());
  }
  void check_text(std::string_view text, const char* where) {
    if (text.find('>') != std::string_view::npos) return fail(std::string("raw > in ") + where);
    for (auto at = text.find('&'); at != std::string_view::npos; at = text.find('&', at + 1)) {
      const auto end = text.find(';', at);
      if (end == std::string_view::npos || end - at > 7) return fail(std::string("raw & in ") + where);
    }
  }

  void take_tag() {
    const bool closing = rest_.starts_with("</");
    rest_.remove_prefix(closing ? 2 : 1);
    const std::string name(rest_.substr(0, rest_.find_first_of(" />")));
    rest_.remove_prefix(name.size());
    if (closing) return close(name);
    if (name != "!doctype")
      while (rest_.starts_with(' ') && wrong_.empty()) take_attribute();
    else
      rest_.remove_prefix(rest_.find('>'));
    const bool empty = rest_.starts_with("/>");
    if (!empty && !rest_.starts_with('>')) return fail("bad tag " + name);
    rest_.remove_prefix(empty ? 2 : 1);
    if (!empty && !is_void(name)) open_.push_back(name);
  }
  void close(const std::string& name) {
    if (open_.empty() || open_.back() != name || !rest_.starts_with('>')) return fail("closes " + name);
    open_.pop_back();
    rest_.remove_prefix(1);
  }
  void take_attribute() {
    rest_.remove_prefix(1);
    rest_.remove_prefix(std::min(rest_.find_first_of("= />"), rest_.size()));
    if (!rest_.starts_with('=')) return;  // one without a value
    if (!rest_.starts_with("=\"")) return fail("attribute without quotes");
    rest_.remove_prefix(2);
    const std::string_view value = rest_.substr(0, rest_.find('"'));
    if (value.find('<') != std::string_view::npos) return fail("raw < in an attribute");
    check_text(value, "an attribute");
    rest_.remove_prefix(std::min(value.size() + 1, rest_.size()));
  }

  std::string_view rest_;
  std::vector<std::string> open_;
  std::string wrong_;
};

}  // namespace coilward
