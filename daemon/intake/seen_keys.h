// Remembers the latest keys told, a bounded number of them, without taking memory while it works.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "daemon/base/time.h"

namespace coilward {

// Mixes to a key whose every bit depends on every bit given (the finaliser of SplitMix64, Steele 2014).
std::uint64_t mixed_key(std::uint64_t a, std::uint64_t b);

// Two generations: when the younger is full, the older is forgotten. So between `capacity` and twice as many
// of the latest keys are known. Two different things have one key once in 2^64 / (2 * capacity) times.
class SeenKeys {
 public:
  struct Entry {
    std::uint64_t key = 0;
    UtcTime when = kNever;
  };

  explicit SeenKeys(std::size_t capacity);  // a power of two
  // When the key was told last; kNever: not known.
  UtcTime when(std::uint64_t key) const;
  void remember(std::uint64_t key, UtcTime when);
  // One that is not known: without looking for it.
  void add(std::uint64_t key, UtcTime when);
  // At most `most`, newest first.
  std::vector<Entry> newest(std::size_t most) const;
  void clear();

 private:
  struct Generation {
    std::vector<Entry> entries;
    std::vector<std::uint32_t> slots;  // position in entries + 1; 0 is free
    Entry* find(std::uint64_t key);
    const Entry* find(std::uint64_t key) const { return const_cast<Generation*>(this)->find(key); }
    void add(const Entry& entry);
    void clear();
  };

  std::size_t capacity_;
  Generation young_, old_;
};

}  // namespace coilward
