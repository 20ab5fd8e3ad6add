#include "daemon/history/chunk.h"
#include "tools/benchmark/pieces.h"
#include "tools/benchmark/stream.h"

namespace coilward::bench {
namespace {

const std::vector<Reading>& hour() {
  static const std::vector<Reading> readings = ReadingStream(1, from_ms(1'777'852'800'000), 1).seconds(3600);
  return readings;
}

std::function<void()> packing(Packing how) {
  return [how] {
    if (pack_chunk(hour(), how).empty()) std::abort();
  };
}

std::function<void()> unpacking() {
  auto chunk = std::make_shared<std::string>(pack_chunk(hour()));
  auto readings = std::make_shared<std::vector<Reading>>();
  return [chunk, readings] {
    readings->clear();
    if (!unpack_chunk(*chunk, hour()[0].channel, *readings)) std::abort();
  };
}

}  // namespace

std::vector<Piece> history_pieces() {
  return {{"hour/packed quickly", [] { return packing(Packing::quick); }, 20},
          {"hour/packed thoroughly", [] { return packing(Packing::thorough); }, 4},
          {"hour/unpacked", unpacking, 20}};
}

}  // namespace coilward::bench
