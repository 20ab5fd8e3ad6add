// The pieces of work that each message, hour or run costs, so that time (Google Benchmark) and instructions
// (callgrind) are measured of the same thing.
#pragma once

#include <functional>
#include <string>
#include <vector>

namespace coilward::bench {

struct Piece {
  std::string name;  // "message/senml"
  // Prepares what is worked on, which is not measured; what it returns does the piece once.
  std::function<std::function<void()>()> prepare;
  // How often callgrind counts it: enough that one time is as good as another; 0: too large for it.
  int counted = 0;
};

std::vector<Piece> intake_pieces();   // a message, from its topic and payload to a reading
std::vector<Piece> history_pieces();  // an hour of one zone, packed and unpacked
std::vector<Piece> run_pieces();      // a reading followed; a finished run diagnosed

}  // namespace coilward::bench
