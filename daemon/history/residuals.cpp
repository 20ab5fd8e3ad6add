#include "daemon/history/residuals.h"

#include <array>
#include <cmath>

#include "daemon/history/varint.h"

namespace coilward {
namespace {

constexpr int kShift = 4;     // follows by 1/16: between quick after a change and still in noise
constexpr int kFraction = 8;  // bits of the level below the point
constexpr Reach kTried[] = {0, 4, 8};

// Integers only, so that every machine expects the same.
class Level {
 public:
  explicit Level(Reach reach) : reach_(reach == 0 ? -1 : std::int64_t{1} << reach) {}

  std::uint64_t expected() const { return whole_ + (fraction_ >> (kFraction - 1)); }

  // residual: of `number`, from expected().
  void follow(std::uint64_t number, std::int64_t residual) {
    if (residual > reach_ || residual < -reach_) {
      whole_ = number;
      fraction_ = 0;
      return;
    }
    const auto off =
        (static_cast<std::int64_t>(number - whole_) << kFraction) - static_cast<std::int64_t>(fraction_);
    const auto moved = static_cast<std::int64_t>(fraction_) + (off >> kShift);
    whole_ += static_cast<std::uint64_t>(moved >> kFraction);
    fraction_ = static_cast<std::uint64_t>(moved) & ((1u << kFraction) - 1);
  }

 private:
  const std::int64_t reach_;
  std::uint64_t whole_ = 0, fraction_ = 0;
};

double entropy(std::string_view bytes) {
  std::array<std::uint32_t, 256> counts{};
  for (const char byte : bytes) ++counts[static_cast<unsigned char>(byte)];
  double bits = 0;
  for (const auto count : counts)
    if (count > 0) bits -= count * std::log2(static_cast<double>(count) / static_cast<double>(bytes.size()));
  return bits;
}

}  // namespace

std::string put_residuals(std::span<const std::int64_t> numbers, Reach reach) {
  std::string bytes;
  bytes.reserve(numbers.size() * 2);
  Level level(reach);
  for (const auto number : numbers) {
    const auto residual = static_cast<std::int64_t>(static_cast<std::uint64_t>(number) - level.expected());
    put_signed(bytes, residual);
    level.follow(static_cast<std::uint64_t>(number), residual);
  }
  return bytes;
}

Reach best_reach(std::span<const std::int64_t> numbers) {
  Reach best = 0;
  double least = 0;
  for (const auto reach : kTried) {
    const double bits = entropy(put_residuals(numbers, reach));
    if (reach != kTried[0] && bits >= least) continue;
    best = reach;
    least = bits;
  }
  return best;
}

std::optional<std::vector<std::int64_t>> take_residuals(std::string_view bytes, std::size_t count,
                                                        Reach reach) {
  if (reach > kMostReach) return std::nullopt;
  std::vector<std::int64_t> numbers(count);
  ByteReader in(bytes);
  Level level(reach);
  for (auto& number : numbers) {
    const auto residual = in.signed_varint();
    const auto value = level.expected() + static_cast<std::uint64_t>(residual);
    level.follow(value, residual);
    number = static_cast<std::int64_t>(value);
  }
  return in.at_end() ? std::optional(std::move(numbers)) : std::nullopt;
}

}  // namespace coilward
