// zstd level 3 around one stream of bytes, and CRC-32 around a whole. Level 3: higher levels cost ten times
// the time for 8 % (measured on an hour of 1 Hz readings).
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "daemon/history/varint.h"

namespace coilward {

// Appends the stream with its lengths, compressed when that makes it smaller.
void put_squeezed(std::string& out, std::string_view stream);
// nullopt: damaged, or longer than `most` when unpacked.
std::optional<std::string> take_squeezed(ByteReader& in, std::size_t most);

// Appends the CRC-32 (ISO 3309) of what is there.
void seal(std::string& out);
// What stands before the CRC; nullopt: it does not match.
std::optional<std::string_view> unseal(std::string_view sealed);

}  // namespace coilward
