// The first of two characters in a short text, eight bytes at a time. A line of a recording is some thirty
// texts of three to ten bytes: a call of memchr for each cost a sixth of replay's time.
#pragma once

#include <bit>
#include <cstdint>
#include <cstring>

namespace coilward {

// A bit in each byte that is 0; exact for the lowest of them (A. Mycroft's test, Hacker's Delight 6-1).
inline std::uint64_t zero_bytes(std::uint64_t word) {
  return (word - 0x0101010101010101ULL) & ~word & 0x8080808080808080ULL;
}

inline std::uint64_t eight_bytes(const char* at) {
  static_assert(std::endian::native == std::endian::little);  // the lowest byte is the first
  std::uint64_t word;
  std::memcpy(&word, at, sizeof word);
  return word;
}

template <char A, char B>
inline std::uint64_t bytes_that_are(std::uint64_t word) {
  constexpr std::uint64_t kEach = 0x0101010101010101ULL;
  return zero_bytes(word ^ (kEach * static_cast<unsigned char>(A))) |
         zero_bytes(word ^ (kEach * static_cast<unsigned char>(B)));
}

// end: neither is there. Never reads from `end` on.
template <char A, char B>
const char* find_either(const char* at, const char* end) {
  for (; end - at >= 8; at += 8)
    if (const std::uint64_t hits = bytes_that_are<A, B>(eight_bytes(at)))
      return at + std::countr_zero(hits) / 8;
  while (at != end && *at != A && *at != B) ++at;
  return at;
}

}  // namespace coilward
