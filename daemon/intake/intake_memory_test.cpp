// In the steady state a message takes no memory. Counts every operator new of this program and of the
// plugins.
#include <atomic>
#include <cstdlib>
#include <new>

#include "daemon/intake/intake_fixture.h"

#if !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)

namespace {
std::atomic<std::uint64_t> allocations{0};
}

void* operator new(std::size_t size) {
  ++allocations;
  if (void* memory = std::malloc(size)) return memory;
  throw std::bad_alloc();
}
void operator delete(void* memory) noexcept { std::free(memory); }
void operator delete(void* memory, std::size_t) noexcept { std::free(memory); }

namespace coilward {
namespace {

std::uint64_t allocations_of(IntakeSite& site, const std::string& channel, const std::string& payload) {
  const std::string topic = "coilward/juniper-row-12/measure/" + channel;
  const auto send = [&](int times) {
    for (int i = 0; i < times; ++i) site.intake().message({topic, payload, site.now += Millis{40}});
  };
  send(200);
  const std::uint64_t before = allocations;
  send(20000);
  return allocations - before;
}

TEST(IntakeMemory, NoMessageTakesAnyInTheSteadyState) {
  IntakeSite site;
  EXPECT_GT(allocations.load(), 0u);  // it does count
  EXPECT_EQ(allocations_of(site, "zone/4/current", "0.231"), 0u);
  EXPECT_EQ(allocations_of(site, "zone/4/command", "on"), 0u);
  EXPECT_EQ(
      allocations_of(site, "gateway",
                     R"([{"bn":"urn:dev:ow:10e2073a01080063:","n":"zone/4/current","u":"A","v":0.231}])"),
      0u);
  EXPECT_EQ(allocations_of(site, "zone/4/current", R"({"value":231,"unit":"mA"})"), 0u);
  EXPECT_EQ(site.intake().counters().rejected_all(), 0u);
}

}  // namespace
}  // namespace coilward

#endif
