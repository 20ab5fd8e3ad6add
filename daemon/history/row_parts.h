// Readings of several channels as one row: a chunk for each, one after the other. One row and not one for
// each channel, because a row of many kilobytes fills its pages. Inside this folder only.
//
// Shape: how many; for each its channel's number in the file and the chunk's length (varints); CRC-32 of all
// before; the chunks, each with a checksum of its own.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace coilward {

template <class Bytes>
struct ChannelChunk {
  std::int64_t channel = 0;
  Bytes chunk;
};
using KeptPart = ChannelChunk<std::string>;
using RowPart = ChannelChunk<std::string_view>;  // into the row

std::string pack_parts(std::span<const KeptPart> parts);
// nullopt: cut short, or its directory altered.
std::optional<std::vector<RowPart>> take_parts(std::string_view row);

}  // namespace coilward
