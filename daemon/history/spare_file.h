// A file that only takes up room, so that there is some to give when the disk is full: alerts and findings
// are small, and must still get into state.db. Inside this folder only.
#pragma once

#include <cstdint>
#include <string>

namespace coilward {

class SpareFile {
 public:
  // bytes 0: there is none, and every call does nothing.
  SpareFile(std::string directory, std::uint64_t bytes);

  // Makes it, if the disk has four times its size free.
  void fill();
  // Gives its room up. false: there was none to give.
  bool give();
  // Whether the disk has room for large writes, or the spare was never given up.
  bool roomy() const;

 private:
  std::uint64_t free_bytes() const;
  std::string directory_, path_;
  std::uint64_t bytes_;
  bool given_ = false;
};

}  // namespace coilward
