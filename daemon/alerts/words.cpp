#include "daemon/alerts/words.h"

#include <toml++/toml.h>

#include "daemon/alerts/words_text.h"

namespace coilward {
namespace {

void gather(const toml::table& table, const std::string& prefix, Words::Texts& texts) {
  for (const auto& [key, node] : table) {
    const std::string name = prefix + std::string(key.str());
    if (const auto* inner = node.as_table()) gather(*inner, name + ".", texts);
    if (const auto text = node.value<std::string>()) texts[name] = *text;
  }
}

}  // namespace

Words::Words(Language language, std::string_view toml) : language_(language) {
  gather(toml::parse(toml), "", texts_);
}

const Words& Words::in(Language language) {
  static const Words english(Language::english, kEnglishWords), spanish(Language::spanish, kSpanishWords);
  return language == Language::spanish ? spanish : english;
}

const std::string& Words::text(std::string_view key) const {
  if (const auto it = texts_.find(key); it != texts_.end()) return it->second;
  thread_local std::string missing;
  return missing = std::string(key);
}

std::string Words::say(std::string_view key, std::initializer_list<Value> values) const {
  Texts named;
  for (const auto& [name, value] : values) named.emplace(name, value);
  return filled(text(key), named);
}

std::string filled(std::string_view text, const Words::Texts& values) {
  std::string out;
  while (!text.empty()) {
    const auto open = text.find('{');
    const auto close = open == std::string_view::npos ? open : text.find('}', open);
    if (close == std::string_view::npos) break;
    out += text.substr(0, open);
    const auto value = values.find(text.substr(open + 1, close - open - 1));
    out += value == values.end() ? text.substr(open, close - open + 1) : std::string_view(value->second);
    text.remove_prefix(close + 1);
  }
  return out + std::string(text);
}

}  // namespace coilward
