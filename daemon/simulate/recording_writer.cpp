#include "daemon/simulate/recording_writer.h"

#include <fmt/format.h>

#include <cerrno>
#include <cstring>

namespace coilward::simulate {
namespace {

constexpr std::size_t kBlock = 1u << 20;

void append_escaped(std::string& out, std::string_view text) {
  for (const char c : text) {
    if (c == '"' || c == '\\') {
      out += '\\', out += c;
    } else if (static_cast<unsigned char>(c) < 0x20) {
      fmt::format_to(std::back_inserter(out), "\\u{:04x}", static_cast<unsigned>(c));
    } else {
      out += c;
    }
  }
}

}  // namespace

void append_recorded(std::string& out, const SimulatedMessage& message) {
  out += R"({"tst":")";
  std::string time = format_rfc3339(message.arrival);
  time.insert(time.size() - 1, "000");  // recorders print microseconds
  out += time;
  out += R"(","topic":")";
  append_escaped(out, message.topic);
  fmt::format_to(std::back_inserter(out), R"(","qos":{},"retain":{},"payloadlen":{},"payload":")",
                 message.qos, message.retained ? 1 : 0, message.payload.size());
  append_escaped(out, message.payload);
  out += "\"}\n";
}

Result<RecordingWriter> RecordingWriter::open(const std::string& path) {
  RecordingWriter writer;
  writer.path_ = path;
  writer.file_.reset(path == "-" ? stdout : std::fopen(path.c_str(), "we"));
  if (!writer.file_) return Error{Cause::world, "recording " + path + ": " + std::strerror(errno)};
  writer.buffer_.reserve(kBlock + 4096);
  return writer;
}

Result<bool> RecordingWriter::write(const SimulatedMessage& message) {
  append_recorded(buffer_, message);
  return buffer_.size() < kBlock ? Result<bool>(true) : drain();
}

Result<bool> RecordingWriter::drain() {
  bytes_ += buffer_.size();
  const bool taken = std::fwrite(buffer_.data(), 1, buffer_.size(), file_.get()) == buffer_.size();
  buffer_.clear();
  if (!taken) return Error{Cause::world, "recording " + path_ + ": " + std::strerror(errno)};
  return true;
}

Result<bool> RecordingWriter::finish() {
  if (auto drained = drain(); !drained) return drained;
  if (std::fflush(file_.get()) != 0)
    return Error{Cause::world, "recording " + path_ + ": " + std::strerror(errno)};
  return true;
}

}  // namespace coilward::simulate
