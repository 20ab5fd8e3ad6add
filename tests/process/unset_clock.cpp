// Preloaded into a daemon under test: its clock stands near 1970, like that of a board without one before the
// network has set it, until the file exists that CLOCK_IS_SET names. What only goes on (CLOCK_MONOTONIC)
// does.
#include <dlfcn.h>
#include <unistd.h>

#include <cstdlib>
#include <ctime>

extern "C" int clock_gettime(clockid_t clock, timespec* time) {
  using Ask = decltype(&clock_gettime);
  static const Ask ask = reinterpret_cast<Ask>(::dlsym(RTLD_NEXT, "clock_gettime"));
  const int done = ask(clock, time);
  static const char* const file = std::getenv("CLOCK_IS_SET");
  constexpr std::time_t kYears = 50LL * 365 * 86'400;
  if (done == 0 && clock == CLOCK_REALTIME && file && ::access(file, F_OK) != 0) time->tv_sec -= kYears;
  return done;
}
