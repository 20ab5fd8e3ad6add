// A password or key in a file of its own. Read when it is needed, so that a changed one counts at once and
// none stays in memory. What goes wrong is said without a word of what is inside.
#pragma once

#include <string>
#include <string_view>

namespace coilward_plugins {

inline constexpr std::size_t kLongestSecret = 4096;

struct Secret {
  std::string value;  // without the line end
  std::string wrong;  // empty: value is good. Otherwise one sentence, naming the file
};

// Refused: missing, not a regular file, readable or writable by everybody, empty, over kLongestSecret, more
// than one line.
Secret read_secret(const std::string& path);

// `text` with every occurrence of the secret, also in base64, replaced: for words that come from outside.
std::string without_secret(std::string text, std::string_view secret);

std::string base64(std::string_view bytes);

}  // namespace coilward_plugins
