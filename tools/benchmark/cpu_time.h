// What this process has used of the processor, user and system, in microseconds (getrusage).
#pragma once

#include <sys/resource.h>

namespace coilward::bench {

inline double cpu_us() {
  rusage used{};
  getrusage(RUSAGE_SELF, &used);
  const auto us = [](const timeval& t) {
    return 1e6 * static_cast<double>(t.tv_sec) + static_cast<double>(t.tv_usec);
  };
  return us(used.ru_utime) + us(used.ru_stime);
}

}  // namespace coilward::bench
