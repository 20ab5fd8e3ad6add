#include "tests/fuzz/fuzz_targets.h"

#include <cstdio>
#include <cstdlib>

namespace coilward {
namespace {

constexpr FuzzTarget kTargets[] = {
    {"number", fuzz_number},     {"senml", fuzz_senml},         {"json", fuzz_json},
    {"topic", fuzz_topic},       {"recording", fuzz_recording}, {"config", fuzz_config},
    {"settings", fuzz_settings}, {"http", fuzz_http},           {"query", fuzz_query},
    {"chunk", fuzz_chunk},       {"spool", fuzz_spool},         {"test_reading", fuzz_test_reading},
};

}  // namespace

std::span<const FuzzTarget> fuzz_targets() { return kTargets; }

const FuzzTarget* find_fuzz_target(std::string_view name) {
  for (const FuzzTarget& target : kTargets)
    if (name == target.name) return &target;
  return nullptr;
}

void must_hold(bool holds, const char* what) {
  if (holds) return;
  std::fprintf(stderr, "does not hold: %s\n", what);
  std::abort();
}

}  // namespace coilward
