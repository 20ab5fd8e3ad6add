// Log lines to stderr: text for people, or with the journal's "<N>" priority prefix when stderr is the
// journal (JOURNAL_STREAM is set), or one JSON object a line. spdlog behind it, kept out of this header for
// build time. Thread: any.
#pragma once

#include <fmt/format.h>

#include <string_view>

namespace coilward::log {

enum class Level { debug, info, warning, error };
enum class Format { text, journal, json };

// Call once at start, before other threads exist. Without it: text at `info`.
void set_up(Level at_least, Format format);
Format format_from_environment();

void write(Level level, std::string_view line);

template <class... T>
void debug(fmt::format_string<T...> f, T&&... a) {
  write(Level::debug, fmt::format(f, std::forward<T>(a)...));
}
template <class... T>
void info(fmt::format_string<T...> f, T&&... a) {
  write(Level::info, fmt::format(f, std::forward<T>(a)...));
}
template <class... T>
void warning(fmt::format_string<T...> f, T&&... a) {
  write(Level::warning, fmt::format(f, std::forward<T>(a)...));
}
template <class... T>
void error(fmt::format_string<T...> f, T&&... a) {
  write(Level::error, fmt::format(f, std::forward<T>(a)...));
}

// The same complaint (same key) is written at once, then after 1, 5, 30, 30 ... minutes with the number of
// times it was held back. For whatever an outside party can cause at will.
void limited(Level level, std::string_view key, std::string_view line);
// The complaint is over: the next one is written at once again. Writes `line` only if the key had complained.
void limited_over(std::string_view key, std::string_view line);

}  // namespace coilward::log
