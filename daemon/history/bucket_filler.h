// Puts readings or minutes, ascending in time, into the buckets between given edges.
#pragma once

#include <algorithm>
#include <span>
#include <vector>

#include "daemon/history/history_reader.h"

namespace coilward {

class BucketFiller {
 public:
  // edges: ascending, at least two; they outlive the filler.
  explicit BucketFiller(std::span<const UtcTime> edges) : edges_(edges) {}

  void add_readings(std::span<const Reading> readings) {
    for (const auto& reading : readings)
      if (auto* bucket = bucket_at(reading.time)) bucket->values.add(reading.value);
  }

  void add_minutes(const HourMinutes& minutes, std::int64_t hour) {
    for (std::size_t i = 0; i < minutes.size(); ++i) {
      if (minutes[i].count == 0) continue;
      const auto start = hour_start(hour) + Millis{static_cast<std::int64_t>(i) * kMinuteMs};
      if (auto* bucket = bucket_at(start)) bucket->values.add(minutes[i]);
    }
  }

  void add_hours(const DayHours& hours, std::int64_t day) {
    for (std::size_t i = 0; i < hours.size(); ++i)
      if (hours[i].count > 0)
        if (auto* bucket = bucket_at(hour_start(day * kHoursADay + static_cast<std::int64_t>(i))))
          bucket->values.add(hours[i]);
  }

  std::vector<Bucket> take() {
    std::erase_if(buckets_, [](const Bucket& bucket) { return bucket.values.count == 0; });
    return std::move(buckets_);
  }

 private:
  // nullptr: outside of all edges. Only buckets that get something are made.
  Bucket* bucket_at(UtcTime time) {
    if (!buckets_.empty() && time >= buckets_.back().start && time < buckets_.back().end)
      return &buckets_.back();
    const auto after = std::upper_bound(edges_.begin(), edges_.end(), time);
    if (after == edges_.begin() || after == edges_.end()) return nullptr;
    buckets_.push_back({*(after - 1), *after, {}});
    return &buckets_.back();
  }

  std::span<const UtcTime> edges_;
  std::vector<Bucket> buckets_;
};

}  // namespace coilward
