// The catalogue: every text that is said to a person, by key, in each language. Made from words/*.toml, which
// are part of the program. Thread: any.
#pragma once

#include <initializer_list>
#include <map>
#include <string>
#include <string_view>
#include <utility>

#include "daemon/config/config.h"

namespace coilward {

class Words {
 public:
  using Value = std::pair<std::string_view, std::string>;
  using Texts = std::map<std::string, std::string, std::less<>>;

  static const Words& in(Language language);

  // The text of a key ("headline.one.open_circuit"); the key itself where there is none, which the tests
  // exclude. Lives as long as the program.
  const std::string& text(std::string_view key) const;
  // The same with each {name} filled in. A name without a value stays as it is.
  std::string say(std::string_view key, std::initializer_list<Value> values) const;
  bool has(std::string_view key) const { return texts_.contains(key); }
  Language language() const { return language_; }
  const Texts& all() const { return texts_; }

 private:
  Words(Language language, std::string_view toml);
  Language language_;
  Texts texts_;
};

// `text` with each {name} replaced by its value; values are not looked into.
std::string filled(std::string_view text, const Words::Texts& values);

}  // namespace coilward
