// Chance by seed, the same on every machine: the generator and its distributions are all spelled out here,
// because those of the standard library differ from one to another. xoshiro256** (Blackman and Vigna 2018),
// seeded by splitmix64 as its authors advise.
#pragma once

#include <cmath>
#include <cstdint>
#include <numbers>
#include <string_view>
#include <vector>

namespace coilward::simulate {

inline std::uint64_t mix(std::uint64_t& state) {
  std::uint64_t z = (state += 0x9E3779B97F4A7C15u);
  z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
  z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
  return z ^ (z >> 31);
}

// FNV-1a, so that a named part of a simulation has a chance of its own, whatever the other parts draw.
inline std::uint64_t hash_name(std::string_view name) {
  std::uint64_t hash = 0xCBF29CE484222325u;
  for (const char c : name) hash = (hash ^ static_cast<unsigned char>(c)) * 0x100000001B3u;
  return hash;
}

// Thread: one at a time. A copy goes on from the same place.
class Chance {
 public:
  explicit Chance(std::uint64_t seed) {
    for (auto& word : state_) word = mix(seed);
  }
  Chance(std::uint64_t seed, std::string_view part, std::uint64_t index = 0)
      : Chance(seed ^ hash_name(part) ^ (index * 0xD6E8FEB86659FD93u)) {}

  std::uint64_t bits() {
    const std::uint64_t result = rotate(state_[1] * 5, 7) * 9;
    const std::uint64_t t = state_[1] << 17;
    state_[2] ^= state_[0], state_[3] ^= state_[1], state_[1] ^= state_[2], state_[0] ^= state_[3];
    state_[2] ^= t;
    state_[3] = rotate(state_[3], 45);
    return result;
  }

  double unit() { return static_cast<double>(bits() >> 11) * 0x1p-53; }  // [0, 1)
  double between(double low, double high) { return low + (high - low) * unit(); }
  // Evenly over the magnitudes between: as likely in 1..10 as in 10..100.
  double scale(double low, double high) { return low * std::pow(high / low, unit()); }
  int whole(int low, int high) { return low + static_cast<int>(unit() * (high - low + 1)); }  // both included
  bool happens(double probability) { return unit() < probability; }
  double normal(double sigma = 1) {  // Box and Muller
    const double radius = std::sqrt(-2 * std::log(1 - unit()));
    return sigma * radius * std::cos(2 * std::numbers::pi * unit());
  }
  // 1 with a relative scatter, never far below or above.
  double about_one(double sigma) { return std::exp(normal(sigma)); }
  template <class T>
  const T& pick(const std::vector<T>& from) {
    return from[static_cast<std::size_t>(unit() * static_cast<double>(from.size()))];
  }

 private:
  static std::uint64_t rotate(std::uint64_t x, int k) { return (x << k) | (x >> (64 - k)); }
  std::uint64_t state_[4];
};

// A value that wanders about zero and forgets with a time constant (Ornstein and Uhlenbeck), read at rising
// times.
class Wander {
 public:
  Wander(double sigma, double seconds) : sigma_(sigma), seconds_(seconds) {}
  double at(double time, Chance& chance) {
    if (!begun_) {
      value_ = chance.normal(sigma_);
      begun_ = true;
    } else if (time > time_) {
      const double kept = std::exp((time_ - time) / seconds_);
      value_ = value_ * kept + chance.normal(sigma_ * std::sqrt(1 - kept * kept));
    }
    if (time > time_) time_ = time;
    return value_;
  }

 private:
  double sigma_, seconds_;
  double value_ = 0, time_ = 0;
  bool begun_ = false;
};

}  // namespace coilward::simulate
