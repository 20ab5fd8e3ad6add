// For tests: a site of random lengths with every break that a dead zone may have, the price of each place and
// reading, and what each reading shows.
#pragma once

#include "daemon/locate/locate_site.h"
#include "daemon/locate/visit_plan.h"

namespace coilward {

// One site with every break it may have. Outcomes come from the ladder, not from what the planner thinks.
class BrokenSite {
 public:
  explicit BrokenSite(unsigned seed) : random_(seed) {
    const int boxes = 2 + static_cast<int>(seed % 2);
    std::vector<double> metres;
    for (int i = 0; i < boxes; ++i) metres.push_back(std::uniform_real_distribution(4.0, 70.0)(random_));
    config = row_of_boxes(metres);
    if (seed % 5 == 0) config.boxes[0].dug = true;
    if (seed % 7 == 0) config.boxes[1].repaired = true;
    finding = finding_of(Fault::open_circuit, {boxes});
    neighbours = others_draw(config, finding);
    path = wire_path(config, boxes);
    ladder = ladder_of(config, path, kNotMeasured);
    suspects = suspects_of(config, finding, path, neighbours);
    // What another zone's current rules out is not where it breaks.
    std::erase_if(suspects, [](const Suspect& s) { return s.weight < 0.004; });
    double sum = 0;
    for (const Suspect& s : suspects) sum += s.weight;
    for (Suspect& s : suspects) s.weight /= sum;
    price();
  }

  int break_one() {
    double at = std::uniform_real_distribution(0.0, 1.0)(random_);
    for (std::size_t i = 0; i < suspects.size(); ++i)
      if ((at -= suspects[i].weight) < 0) return static_cast<int>(i);
    return 0;
  }

  TestReading measured_at(const NextReading& ask, int truth) const {
    const Suspect& s = suspects[static_cast<std::size_t>(truth)];
    return measure(ask, path, ladder, condition_of(s, 0), s.place.conductor);
  }

  Config config;
  Finding finding;
  std::vector<Neighbour> neighbours;
  WirePath path;
  Ladder ladder;
  std::vector<Suspect> suspects;
  VisitProblem problem;
  std::vector<NextReading> asks;  // beside problem.tests

 private:
  int stop_of_place(const Place& p) const {
    if (p.kind == PlaceKind::controller) return 0;
    return path.stop_named(p.kind == PlaceKind::segment ? p.to : p.at);
  }

  void price() {
    const VisitConfig& v = config.visit;
    for (const Stop& stop : path.stops)
      problem.walk.push_back(stop.from_controller / v.walk_metres_per_minute);
    problem.open_minutes = v.open_box_minutes;
    problem.setup_minutes = v.source_setup_minutes;
    for (const Suspect& s : suspects) {
      const int stop = stop_of_place(s.place);
      const PlaceKind kind = s.place.kind;
      const double minutes = kind == PlaceKind::controller ? v.controller_minutes
                             : kind == PlaceKind::splice   ? v.splice_minutes
                             : kind == PlaceKind::coil     ? v.coil_minutes
                                                           : v.dig_minutes_per_metre * path.stop(stop).metres;
      problem.places.push_back(
          {s.weight, stop, minutes, kind == PlaceKind::splice || kind == PlaceKind::coil});
    }
    for (int stop = 0; stop <= path.last(); ++stop) {
      add_test(ReadingKind::volts_on, stop, v.volts_minutes, 0, Conductor::zone);
      add_test(ReadingKind::ohms, stop, v.ohms_minutes, 0, Conductor::zone);
      if (stop == 0) continue;
      add_test(ReadingKind::source_volts, stop, v.source_minutes, 1, Conductor::zone);
      add_test(ReadingKind::source_volts, stop, v.source_minutes, 2, Conductor::common);
    }
  }

  void add_test(ReadingKind kind, int stop, double minutes, int setup, Conductor conductor) {
    NextReading ask;
    ask.kind = kind;
    ask.zone = path.zone;
    ask.at = path.stop(stop).name;
    ask.conductor = conductor;
    VisitTest test{stop, minutes, setup, 0};
    for (std::size_t i = 0; i < suspects.size(); ++i) {
      const double value = measured_at(ask, static_cast<int>(i)).value;
      if (kind == ReadingKind::ohms ? value < 1000 : value < 10) test.first |= VisitSet{1} << i;
    }
    problem.tests.push_back(test);
    asks.push_back(ask);
  }

  std::mt19937 random_;
};

}  // namespace coilward
