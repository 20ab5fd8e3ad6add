// The careful way through one line: a full JSON parser, for lines the quick scan gave up on.
#pragma once

#include <memory>
#include <string>
#include <string_view>

#include "daemon/intake/recording_scan.h"

namespace coilward {

// Thread: one at a time.
class RecordingJudge {
 public:
  RecordingJudge();
  ~RecordingJudge();

  // True: `fields` is filled; its views are good until the next call. False: `why` says what is wrong.
  bool read(std::string_view line, RecordedFields& fields, std::string& why);

 private:
  struct Parser;
  std::unique_ptr<Parser> parser_;
};

}  // namespace coilward
