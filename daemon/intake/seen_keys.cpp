#include "daemon/intake/seen_keys.h"

#include <algorithm>

namespace coilward {

std::uint64_t mixed_key(std::uint64_t a, std::uint64_t b) {
  std::uint64_t z = a * 0x9E3779B97F4A7C15ULL + b;
  z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ULL;
  z = (z ^ (z >> 27)) * 0x94D049BB133111EBULL;
  return z ^ (z >> 31);
}

SeenKeys::SeenKeys(std::size_t capacity) : capacity_(capacity) {
  for (Generation* generation : {&young_, &old_}) {
    generation->entries.reserve(capacity);
    generation->slots.resize(2 * capacity);  // half full at most, so that a probe is short
  }
}

SeenKeys::Entry* SeenKeys::Generation::find(std::uint64_t key) {
  const std::size_t mask = slots.size() - 1;
  for (std::size_t at = key & mask; slots[at] != 0; at = (at + 1) & mask)
    if (Entry& entry = entries[slots[at] - 1]; entry.key == key) return &entry;
  return nullptr;
}

void SeenKeys::Generation::add(const Entry& entry) {
  const std::size_t mask = slots.size() - 1;
  std::size_t at = entry.key & mask;
  while (slots[at] != 0) at = (at + 1) & mask;
  entries.push_back(entry);
  slots[at] = static_cast<std::uint32_t>(entries.size());
}

void SeenKeys::Generation::clear() {
  entries.clear();
  std::fill(slots.begin(), slots.end(), 0);
}

UtcTime SeenKeys::when(std::uint64_t key) const {
  if (const Entry* entry = young_.find(key)) return entry->when;
  const Entry* entry = old_.find(key);
  return entry ? entry->when : kNever;
}

void SeenKeys::remember(std::uint64_t key, UtcTime when) {
  if (Entry* entry = young_.find(key)) {
    entry->when = when;
    return;
  }
  add(key, when);
}

void SeenKeys::add(std::uint64_t key, UtcTime when) {
  if (young_.entries.size() == capacity_) {
    std::swap(young_, old_);
    young_.clear();
  }
  young_.add({key, when});
}

std::vector<SeenKeys::Entry> SeenKeys::newest(std::size_t most) const {
  std::vector<Entry> list;
  for (const Generation* generation : {&young_, &old_})
    for (auto it = generation->entries.rbegin(); it != generation->entries.rend() && list.size() < most; ++it)
      list.push_back(*it);
  return list;
}

void SeenKeys::clear() {
  young_.clear();
  old_.clear();
}

}  // namespace coilward
