#include "daemon/base/log_line.h"

#include <nlohmann/json.hpp>

namespace coilward::log {
namespace {

constexpr std::string_view kNames[] = {"debug", "info", "warning", "error"};
constexpr int kPriorities[] = {7, 6, 4, 3};  // RFC 5424 severities

std::string_view name_of(Level level) { return kNames[static_cast<int>(level)]; }

bool control(char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7f; }

std::string prefix(Format format, Level level, UtcTime time) {
  if (format == Format::journal) return fmt::format("<{}>", kPriorities[static_cast<int>(level)]);
  return fmt::format("{} {} ", format_rfc3339(time), name_of(level));
}

std::string as_json(Level level, UtcTime time, std::string_view text) {
  const nlohmann::ordered_json line = {
      {"time", format_rfc3339(time)}, {"level", name_of(level)}, {"message", text}};
  return line.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace);
}

}  // namespace

std::string format_line(Format format, Level level, UtcTime time, std::string_view text) {
  if (format == Format::json) return as_json(level, time, text);
  const std::string start = prefix(format, level, time);
  std::string out = start;
  for (const char c : text) {
    if (c == '\n')
      out += "\n" + start + "  ";
    else if (control(c))
      out += fmt::format("\\x{:02x}", static_cast<unsigned char>(c));
    else
      out += c;
  }
  return out;
}

}  // namespace coilward::log
