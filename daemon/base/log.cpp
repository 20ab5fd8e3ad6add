#include "daemon/base/log.h"

#include <spdlog/logger.h>
#include <spdlog/sinks/stdout_sinks.h>
#include <sys/stat.h>

#include <atomic>
#include <cstdlib>
#include <mutex>

#include "daemon/base/clock.h"
#include "daemon/base/log_limiter.h"
#include "daemon/base/log_line.h"

namespace coilward::log {
namespace {

std::atomic<Level> least{Level::info};
std::atomic<Format> chosen{Format::text};

// Never destroyed: threads that are left behind at exit may still complain.
spdlog::logger& logger() {
  static auto* const made = [] {
    auto* fresh = new spdlog::logger("coilward", std::make_shared<spdlog::sinks::stderr_sink_mt>());
    fresh->set_pattern("%v");
    fresh->set_level(spdlog::level::trace);
    return fresh;
  }();
  return *made;
}

struct Shared {
  std::mutex mutex;
  Limiter limiter;
};
Shared& shared() {
  static auto* const made = new Shared;
  return *made;
}

std::string with_count(std::string_view line, std::uint64_t held) {
  return held == 0 ? std::string(line) : fmt::format("{} ({} more like this meanwhile)", line, held);
}

}  // namespace

void set_up(Level at_least, Format format) {
  least = at_least;
  chosen = format;
}

// systemd.exec(5): JOURNAL_STREAM is device:inode of the stream, to be compared, as a child may have another.
Format format_from_environment() {
  const char* stream = std::getenv("JOURNAL_STREAM");
  struct stat found {};
  if (!stream || ::fstat(2, &found) != 0) return Format::text;
  return fmt::format("{}:{}", found.st_dev, found.st_ino) == stream ? Format::journal : Format::text;
}

void write(Level level, std::string_view line) {
  if (level < least.load()) return;
  logger().info("{}", format_line(chosen, level, SystemClock().utc(), line));
}

void limited(Level level, std::string_view key, std::string_view line) {
  std::optional<std::uint64_t> held;
  {
    std::lock_guard lock(shared().mutex);
    held = shared().limiter.complain(key, std::chrono::steady_clock::now());
  }
  if (held) write(level, with_count(line, *held));
}

void limited_over(std::string_view key, std::string_view line) {
  bool had = false;
  {
    std::lock_guard lock(shared().mutex);
    had = shared().limiter.over(key);
  }
  if (had) write(Level::info, line);
}

}  // namespace coilward::log
