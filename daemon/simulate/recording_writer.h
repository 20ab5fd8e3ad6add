// Writes recordings in the form that recorders print and RecordingReader reads: one JSON object a line.
#pragma once

#include <cstdio>
#include <memory>
#include <string>

#include "daemon/base/result.h"
#include "daemon/simulate/simulation.h"

namespace coilward::simulate {

// Appends one line. The payload is a JSON string; bytes that are not UTF-8 stand in it raw, as recorders
// print them, and control characters escaped (a zero byte too, which recorders lose).
void append_recorded(std::string& out, const SimulatedMessage& message);

// Thread: one.
class RecordingWriter {
 public:
  // "-" is standard output. world: the file cannot be made.
  static Result<RecordingWriter> open(const std::string& path);
  // world: the disk took no more.
  Result<bool> write(const SimulatedMessage& message);
  Result<bool> finish();
  std::uint64_t bytes() const { return bytes_; }

 private:
  struct Close {
    void operator()(std::FILE* file) const {
      if (file != stdout) std::fclose(file);
    }
  };
  Result<bool> drain();

  std::unique_ptr<std::FILE, Close> file_;
  std::string path_;
  std::string buffer_;
  std::uint64_t bytes_ = 0;
};

}  // namespace coilward::simulate
