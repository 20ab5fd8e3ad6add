#include "daemon/host/foreign_text.h"

#include <algorithm>

namespace coilward {
namespace {

// Length of the UTF-8 sequence at the beginning of `at` (RFC 3629), 0 when there is no good one.
std::size_t sequence_length(const unsigned char* at, std::size_t left) {
  const auto trail = [&](std::size_t i, unsigned low = 0x80, unsigned high = 0xBF) {
    return i < left && at[i] >= low && at[i] <= high;
  };
  const unsigned first = at[0];
  if (first < 0x80) return 1;
  if (first >= 0xC2 && first <= 0xDF) return trail(1) ? 2 : 0;
  if (first >= 0xE0 && first <= 0xEF)
    return trail(1, first == 0xE0 ? 0xA0 : 0x80, first == 0xED ? 0x9F : 0xBF) && trail(2) ? 3 : 0;
  if (first >= 0xF0 && first <= 0xF4)
    return trail(1, first == 0xF0 ? 0x90 : 0x80, first == 0xF4 ? 0x8F : 0xBF) && trail(2) && trail(3) ? 4 : 0;
  return 0;
}

}  // namespace

std::string foreign_text(coilward_text text, std::size_t longest) {
  std::string out;
  if (!text.data) return out;
  const auto* bytes = reinterpret_cast<const unsigned char*>(text.data);
  const std::size_t size = std::min(text.size, longest);
  for (std::size_t i = 0; i < size;) {
    const std::size_t length = sequence_length(bytes + i, size - i);
    if (length > 1)
      out.append(text.data + i, length);
    else
      out += length == 0                           ? '?'
             : bytes[i] == '\n'                    ? '\n'
             : bytes[i] < 0x20 || bytes[i] == 0x7F ? ' '
                                                   : text.data[i];
    i += std::max<std::size_t>(length, 1);
  }
  return out;
}

}  // namespace coilward
