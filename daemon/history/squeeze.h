// zstd around one stream of bytes, and CRC-32 around a whole.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "daemon/history/varint.h"

namespace coilward {

// noise: what has no repetitions longer than a few bytes by chance. Searching for them makes such a stream
// larger, not smaller: without it 0.63 instead of 0.71 bytes a reading, in a fifth of the time. thorough:
// weighs which repetitions pay; 0.57, at twenty times the time of noise. Measured on an hour of 1 Hz
// readings.
enum class Squeeze : std::uint8_t { text, noise, thorough };

// Appends the stream with its lengths, compressed when that makes it smaller.
void put_squeezed(std::string& out, std::string_view stream, Squeeze how = Squeeze::text);
// nullopt: damaged, or longer than `most` when unpacked.
std::optional<std::string> take_squeezed(ByteReader& in, std::size_t most);

// Appends the CRC-32 (ISO 3309) of what is there.
void seal(std::string& out);
// What stands before the CRC; nullopt: it does not match.
std::optional<std::string_view> unseal(std::string_view sealed);

}  // namespace coilward
