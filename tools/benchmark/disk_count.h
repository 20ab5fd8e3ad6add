// What was written since it was made, as the block device under a directory counts it (sectors of
// /sys/dev/block/M:N/stat: file system journal included, and everything else that writes there), and as
// /proc/self/io counts it for this process. A directory on a device of its own gives a clean figure.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

namespace coilward::bench {

class DiskCount {
 public:
  explicit DiskCount(std::string directory);

  // Everything that is only in memory goes to the device.
  void settle() const;
  // nullopt: the directory is on no block device (tmpfs, overlay).
  std::optional<std::uint64_t> device_bytes() const;
  std::optional<std::uint64_t> flushes() const;
  std::uint64_t process_bytes() const;

 private:
  std::optional<std::uint64_t> stat_field(int index) const;
  std::string directory_;
  std::optional<std::uint64_t> sectors_, flushes_;
  std::uint64_t process_ = 0;
};

}  // namespace coilward::bench
