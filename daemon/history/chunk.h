// One channel's readings, packed: a chunk. Losslessly: values come back bit for bit, times to the
// millisecond.
//
// Shape: a short header in the clear (count, first and last time, lowest and highest value, so that a reader
// can skip a chunk without unpacking it), then the times as deviations from an even beat and the values as
// the smallest exact decimal steps (or as raw words where no decimal fits), both as residuals (residuals.h)
// and zstd, then CRC-32 of all before. Chunks of earlier builds (form 1: plain differences) are read as well.
//
// Thread: any; no state.
#pragma once

#include <algorithm>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/result.h"
#include "daemon/pipeline.h"

namespace coilward {

// More than a chunk ever holds: bounds what a damaged header can ask for (an hour at 291 Hz).
inline constexpr std::size_t kMostReadingsInChunk = 1u << 20;

struct ChunkHeader {
  std::uint32_t count = 0;
  UtcTime first = kNever;  // earliest and latest time
  UtcTime last = kNever;
  double lowest = kNotMeasured;  // of the values that are numbers; NaN when none is
  double highest = kNotMeasured;
};

// Sorts by (time, value) and removes readings that are the same in both: the canonical order of a chunk. Of
// two that differ only in time_unsure the sure one stays. All must be of one channel.
void sort_and_unite(std::vector<Reading>& readings);

// quick: for what is packed again soon. thorough: for what stays.
enum class Packing : std::uint8_t { quick, thorough };

// Packs readings of one channel, in the order given (ascending time packs best). At most
// kMostReadingsInChunk, at least one.
std::string pack_chunk(std::span<const Reading> readings, Packing packing = Packing::thorough);

// As many chunks as they need: `take` gets each.
template <class Take>
void each_chunk(std::span<const Reading> readings, Packing packing, const Take& take) {
  for (; !readings.empty(); readings = readings.subspan(std::min(kMostReadingsInChunk, readings.size())))
    take(pack_chunk(readings.first(std::min(kMostReadingsInChunk, readings.size())), packing));
}

// bad_input: cut short, altered, or of a form this program does not know. Never reads past the end.
Result<ChunkHeader> read_chunk_header(std::string_view chunk);
// Appends to `readings`; on an error nothing is appended.
Result<ChunkHeader> unpack_chunk(std::string_view chunk, Channel channel, std::vector<Reading>& readings);

}  // namespace coilward
