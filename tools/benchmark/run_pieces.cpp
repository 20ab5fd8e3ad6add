#include <fmt/format.h>

#include "daemon/diagnosis/fake_site.h"
#include "tools/benchmark/pieces.h"

namespace coilward::bench {
namespace {

constexpr int kDaysLearned = 8;
constexpr int kDaysAhead = 10;  // made before, so that making them is not measured

// A learned site whose runs are kept as they end, and looked at when asked.
struct Learned : RunListener {
  FakeSite site;
  Diagnosis diagnosis{site.config, [](const Finding&) {}};
  RunTracker runs{site.config, *this};
  std::vector<Run> waiting;
  std::size_t next = 0;

  Learned(int zones, const std::function<void(FakeSite&)>& spoil) : site(zones) {
    for (int day = 0; day < kDaysLearned; ++day) water(), look_at_all();
    spoil(site);
    water();
    look_at_all();
    for (int day = 0; day < kDaysAhead; ++day) water();
  }
  void on_idle(const IdleEvent&) override {}
  void on_look(const Run& run, Look look) override {
    if (look == Look::finished) waiting.push_back(run);
  }
  void water() { site.water(runs); }
  void look_at_all() {
    while (next < waiting.size()) look_at_next();
  }
  // The time is the run's own end: what follows it has not been yet.
  void look_at_next() {
    const Run& run = waiting[next++];
    diagnosis.look(run, Look::finished, run.end);
  }
  // Another day, when all that were made have been looked at.
  void ready_next() {
    if (next == waiting.size()) water();
  }
};

std::function<void()> finished_runs(int zones, const std::function<void(FakeSite&)>& spoil) {
  auto learned = std::make_shared<Learned>(zones, spoil);
  return [learned] {
    learned->ready_next();
    learned->look_at_next();
  };
}

}  // namespace

// Half of the outputs lie beyond the bad common, which is the most that there is to weigh.
std::vector<Piece> run_pieces() {
  std::vector<Piece> pieces;
  for (const int zones : {12, 48}) {
    const auto add = [&](const std::string& name, int counted, const std::function<void(FakeSite&)>& spoil) {
      pieces.push_back({fmt::format("run of {} zones/{}", zones, name),
                        [=] { return finished_runs(zones, spoil); }, zones == 12 ? counted : 0});
    };
    add("healthy", 24, [](FakeSite&) {});
    add("open circuit", 12, [](FakeSite& site) { site.zones[5].open = true; });
    add("bad common", 2,
        [zones](FakeSite& site) { site.bad_common_box = zones / 4, site.bad_common_ohms = 9; });
  }
  return pieces;
}

}  // namespace coilward::bench
