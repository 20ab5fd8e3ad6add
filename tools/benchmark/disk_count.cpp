#include "tools/benchmark/disk_count.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <unistd.h>

#include <fstream>

namespace coilward::bench {
namespace {

// Of Documentation/block/stat.rst in Linux: write sectors (always of 512 bytes), flush requests.
constexpr int kWriteSectors = 6;
constexpr int kFlushes = 15;
constexpr std::uint64_t kSector = 512;

std::uint64_t own_written() {
  std::ifstream io("/proc/self/io");
  std::string name;
  for (std::uint64_t value = 0; io >> name >> value;)
    if (name == "write_bytes:") return value;
  return 0;
}

std::optional<std::uint64_t> since(std::optional<std::uint64_t> now, std::optional<std::uint64_t> then) {
  return now && then ? std::optional(*now - *then) : std::nullopt;
}

}  // namespace

DiskCount::DiskCount(std::string directory) : directory_(std::move(directory)) {
  settle();
  sectors_ = stat_field(kWriteSectors);
  flushes_ = stat_field(kFlushes);
  process_ = own_written();
}

// Twice: the first writes data and the journal, the second what the journal allows to be put in its place.
void DiskCount::settle() const {
  const int directory = ::open(directory_.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (directory < 0) return;
  ::syncfs(directory);
  ::syncfs(directory);
  ::close(directory);
}

std::optional<std::uint64_t> DiskCount::device_bytes() const {
  const auto sectors = since(stat_field(kWriteSectors), sectors_);
  return sectors ? std::optional(*sectors * kSector) : std::nullopt;
}

std::optional<std::uint64_t> DiskCount::flushes() const { return since(stat_field(kFlushes), flushes_); }
std::uint64_t DiskCount::process_bytes() const { return own_written() - process_; }

std::optional<std::uint64_t> DiskCount::stat_field(int index) const {
  struct stat status {};
  if (::stat(directory_.c_str(), &status) != 0) return std::nullopt;
  std::ifstream in(fmt::format("/sys/dev/block/{}:{}/stat", major(status.st_dev), minor(status.st_dev)));
  std::uint64_t value = 0;
  for (int i = 0; i <= index; ++i)
    if (!(in >> value)) return std::nullopt;
  return value;
}

}  // namespace coilward::bench
