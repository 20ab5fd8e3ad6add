// Whole numbers as small ones: each told as its difference from where it was expected.
//
// What wavers about a level is expected at that level: the difference then holds its own noise only, and not
// that of the number before as well. The level follows by a sixteenth of each difference, and moves at once
// by one that is larger than `reach`. Half a bit a number less than plain differences for sensor noise, as
// theory has it (the variance halves).
//
// Thread: any; no state.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace coilward {

// Power of two up to which a difference is noise; 0: every difference is from the number before.
using Reach = std::uint8_t;
inline constexpr Reach kMostReach = 20;

// The reach that makes the smallest stream, by the entropy of its bytes.
Reach best_reach(std::span<const std::int64_t> numbers);

// As zigzag varints. The first is told against 0.
std::string put_residuals(std::span<const std::int64_t> numbers, Reach reach);
// nullopt: not `count` numbers exactly. A damaged stream wraps and never overflows.
std::optional<std::vector<std::int64_t>> take_residuals(std::string_view bytes, std::size_t count,
                                                        Reach reach);

}  // namespace coilward
