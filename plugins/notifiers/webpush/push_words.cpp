#include <fmt/format.h>

#include <cctype>

#include "plugins/notifiers/webpush/push_call.h"

namespace coilward_plugins {
namespace {

// What shows of a notification is a title and some lines; the page it opens has the rest.
constexpr std::size_t kMostTitle = 200, kMostLines = 1500;  // bytes

// Cut where a character of UTF-8 begins.
std::string cut(std::string text, std::size_t most) {
  if (text.size() <= most) return text;
  while (most > 0 && (static_cast<unsigned char>(text[most]) & 0xc0) == 0x80) --most;
  return text.substr(0, most) + "…";
}

std::string text_of(const nlohmann::json& json, const char* key) {
  const auto it = json.find(key);
  return it != json.end() && it->is_string() ? it->get<std::string>() : std::string();
}

// The first part: up to the first empty line.
std::string opening(const std::string& text) { return text.substr(0, text.find("\n\n")); }

std::string percent_encoded(std::string_view text) {
  std::string out;
  for (const char c : text) {
    const bool plain = std::isalnum(static_cast<unsigned char>(c)) || c == '-' || c == '_' || c == '.';
    out += plain ? std::string(1, c) : fmt::format("%{:02X}", static_cast<unsigned char>(c));
  }
  return out;
}

}  // namespace

std::string push_words(const nlohmann::json& alert) {
  std::string url = "/", tag = text_of(alert, "id");
  if (const auto findings = alert.find("findings");
      findings != alert.end() && findings->is_array() && !findings->empty()) {
    url = "/finding/" + percent_encoded(text_of(findings->front(), "id"));
    tag = text_of(findings->front(), "id");
  } else if (text_of(alert, "kind") == "test") {
    url = "/told";
  }
  const nlohmann::ordered_json words = {{"id", text_of(alert, "id")},
                                        {"title", cut(text_of(alert, "subject"), kMostTitle)},
                                        {"body", cut(opening(text_of(alert, "text")), kMostLines)},
                                        {"url", url},
                                        {"severity", text_of(alert, "severity")},
                                        {"tag", tag}};
  return words.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
}

}  // namespace coilward_plugins
