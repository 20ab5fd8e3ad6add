// For the tests of this folder: sites in a row of boxes, findings about them, and a technician who measures
// what a site with a known defect would show.
#pragma once

#include <gtest/gtest.h>

#include <random>

#include "daemon/circuit/wire.h"
#include "daemon/locate/locate.h"

namespace coilward {

// Boxes A, B, C ... one after the other, 14 AWG common, one zone of 18 AWG in each, numbered from 1.
inline Config row_of_boxes(const std::vector<double>& metres) {
  Config config;
  config.commons.push_back({"main", {circuit::awg_square_mm(14), 14, false}});
  for (std::size_t i = 0; i < metres.size(); ++i) {
    BoxConfig box;
    box.id = i < 26 ? std::string(1, static_cast<char>('A' + i)) : "box" + std::to_string(i + 1);
    box.from = i == 0 ? "controller" : config.boxes[i - 1].id;
    box.metres = metres[i];
    box.parent = static_cast<int>(i) - 1;
    config.boxes.push_back(box);
    ZoneConfig zone;
    zone.number = static_cast<int>(i) + 1;
    zone.box = static_cast<int>(i);
    zone.wire = {circuit::awg_square_mm(18), 18, false};
    zone.hold_amps = 0.23;
    zone.inrush_amps = 0.40;
    config.zones.push_back(zone);
  }
  return config;
}

// ratio: of the current seen to the normal one.
inline Finding finding_of(Fault fault, std::vector<int> zones, double ratio = 0) {
  Finding f;
  f.id = "20260504-061209-test";
  f.fault = fault;
  f.zones = std::move(zones);
  f.probability = 0.98;
  f.opened = *parse_rfc3339("2026-05-04T06:12:09Z");
  if (!f.zones.empty())
    f.evidence = {
        {"zone/" + std::to_string(f.zones[0]) + "/current", 0.23 * ratio, 0.23, 0.21, 0.25, "A", f.opened}};
  return f;
}

// Every other zone draws, and has since.
inline std::vector<Neighbour> others_draw(const Config& config, const Finding& finding) {
  std::vector<Neighbour> list;
  for (const auto& zone : config.zones)
    if (std::find(finding.zones.begin(), finding.zones.end(), zone.number) == finding.zones.end())
      list.push_back({zone.number, true, true});
  return list;
}

inline double chance_of(const Location& found, PlaceKind kind, const std::string& where,
                        Conductor conductor = Conductor::zone) {
  double sum = 0;
  for (const Place& p : found.places)
    if (p.kind == kind && (where.empty() || p.at == where || p.to == where) &&
        (p.conductor == conductor || kind == PlaceKind::coil || kind == PlaceKind::controller))
      sum += p.probability;
  return sum;
}

inline double sum_of(const Location& found) {
  double sum = 0;
  for (const Place& p : found.places) sum += p.probability;
  return sum;
}

inline TestReading volts_reading(int zone, const std::string& at, double volts) {
  TestReading r;
  r.zone = zone;
  r.at = at;
  r.value = volts;
  return r;
}
inline TestReading ohms_reading(int zone, const std::string& at, double ohms, Toward toward = Toward::valve) {
  TestReading r = volts_reading(zone, at, ohms);
  r.kind = ReadingKind::ohms;
  r.toward = toward;
  return r;
}
inline TestReading source_reading(int zone, const std::string& at, double volts, Conductor conductor) {
  TestReading r = volts_reading(zone, at, volts);
  r.kind = ReadingKind::source_volts;
  r.source_volts = 40;
  r.conductor = conductor;
  return r;
}

// What the meter shows when the truth is `condition` on the given wire. No error of its own.
inline TestReading measure(const NextReading& ask, const WirePath& path, const Ladder& ladder,
                           const Condition& truth, Conductor wire) {
  const int stop = path.stop_named(ask.at);
  if (ask.kind == ReadingKind::volts_on)
    return volts_reading(ask.zone, ask.at, volts_on_at(ladder, stop, truth));
  if (ask.kind == ReadingKind::ohms)
    return ohms_reading(ask.zone, ask.at,
                        ask.toward == Toward::valve ? ohms_toward_valve(ladder, stop, truth)
                                                    : ohms_toward_controller(ladder, stop, truth),
                        ask.toward);
  const bool broken = truth.defect == Defect::open && wire == ask.conductor && truth.spot <= volts_spot(stop);
  return source_reading(ask.zone, ask.at, broken ? 0.1 : 35, ask.conductor);
}

// Four boxes; zone 3, in box C, is broken.
class LocateTest : public testing::Test {
 protected:
  Location find(const Finding& finding, std::vector<TestReading> readings = {}) {
    return find(finding, others_draw(config, finding), std::move(readings));
  }
  Location find(const Finding& finding, std::vector<Neighbour> neighbours,
                std::vector<TestReading> readings) {
    Location found =
        locate_fault({config, finding, std::move(neighbours), kNotMeasured, std::move(readings)});
    if (!found.places.empty()) EXPECT_NEAR(sum_of(found), 1, 1e-9);
    return found;
  }

  Config config = row_of_boxes({18, 31, 25, 40});
  const Finding broken = finding_of(Fault::open_circuit, {3});
};

}  // namespace coilward
