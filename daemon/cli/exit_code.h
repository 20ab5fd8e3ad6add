// Exit statuses of contract section 7, and how the outcome of an action becomes one. Thread: any.
#pragma once

#include "daemon/base/result.h"

namespace coilward {

inline constexpr int kExitDone = 0;
inline constexpr int kExitFailed = 1;
inline constexpr int kExitUsage = 2;
inline constexpr int kExitConfig = 78;  // EX_CONFIG of sysexits.h

inline int exit_code(const Error& error) {
  if (error.cause == Cause::bad_config) return kExitConfig;
  return error.cause == Cause::bad_input ? kExitUsage : kExitFailed;
}

}  // namespace coilward
