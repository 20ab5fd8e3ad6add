#include "daemon/commission/zone_walk.h"

#include <fmt/format.h>

#include <algorithm>

namespace coilward {
namespace {

constexpr Millis kLookEvery{200};

std::string channel_of(int zone) { return fmt::format("zone/{}/current", zone); }

bool has_sensor(const Config& config, int zone) {
  return std::ranges::any_of(config.sensors,
                             [&](const SensorConfig& s) { return s.channel == channel_of(zone); });
}

class ZoneLook {
 public:
  ZoneLook(Dialogue& dialogue, const CommissionLinks& links, Config& config, const ZoneConfig& zone)
      : dialogue_(dialogue), links_(links), config_(config), zone_(zone) {}

  Result<std::string> walk() {
    auto before = links_.live();
    if (!before) return before.error();
    before_ = std::move(*before);
    for (;;) {
      const auto on = dialogue_.done(fmt::format("Switch zone {} on at the controller", zone_.number), true);
      if (!on) return on.error();
      if (!*on) return std::string("left out at commissioning");
      auto done = look();
      if (!done) return done.error();
      if (auto off = switch_off(); !off) return off.error();
      if (!done->empty()) return done;
    }
  }

 private:
  // What was seen; empty: once more.
  Result<std::string> look() {
    const auto moved = wait_for_move();
    if (!moved) return moved.error();
    switch (judge_moves(*moved, zone_.number)) {
      case MoveVerdict::nothing:
        return ask_again(
            fmt::format("No sensor moved within {:g} s. Is it on, and does its sensor publish? A broken "
                        "wire or coil shows nothing either.",
                        links_.wait_s),
            "again leave", "nothing seen at commissioning");
      case MoveVerdict::together:
        dialogue_.say(others_words(*moved));
        [[fallthrough]];
      case MoveVerdict::own:
        return judge(*own_of(*moved), zone_.number);
      case MoveVerdict::other:
        return swapped(moved->front());
      case MoveVerdict::others:
        return ask_again(others_words(*moved) + " Its own did not.", "again leave",
                         "only other sensors moved");
    }
    return std::string();
  }

  const Moved* own_of(const std::vector<Moved>& moved) const {
    const auto it = std::ranges::find_if(moved, [&](const Moved& m) { return m.number == zone_.number; });
    return it == moved.end() ? nullptr : &*it;
  }

  std::string others_words(const std::vector<Moved>& moved) const {
    std::string list;
    for (const Moved& m : moved)
      if (m.number != zone_.number) list += fmt::format("{}{}", list.empty() ? "" : ", ", m.number);
    return fmt::format(
        "The sensors of other zones moved too ({}): are their wires touching, or were more switched on?",
        list);
  }

  // The level once it stands.
  Result<std::vector<Moved>> wait_for_move() {
    double waited = 0, since = -1;
    for (; waited <= links_.wait_s; waited += seconds_of(kLookEvery)) {
      const auto now = links_.live();
      if (!now) return now.error();
      auto moved = moved_since(before_, *now);
      if (moved.empty()) since = -1;
      if (!moved.empty() && since < 0) since = waited;
      if (!moved.empty() && waited - since >= links_.settle_s) return moved;
      links_.pause(kLookEvery);
    }
    return std::vector<Moved>();
  }
  static double seconds_of(Millis span) { return static_cast<double>(span.count()) / 1000; }

  Result<std::string> judge(const Moved& moved, int sensor) {
    const bool rated = measured(zone_.hold_amps);
    const double expected = expected_amps(config_, zone_.number);
    CoilVerdict verdict = check_coil(moved.amps, expected, rated);
    if (moved.refused && verdict == CoilVerdict::plausible) verdict = CoilVerdict::high;
    const std::string words = coil_words(verdict, moved.amps, expected, rated);
    dialogue_.say(fmt::format("Zone {}: {}", zone_.number, words));
    if (verdict == CoilVerdict::plausible) {
      if (sensor != zone_.number && !map(sensor, "A")) return std::string("its sensor is another's");
      return fmt::format("{:.3f} A at commissioning", moved.amps);
    }
    if (verdict == CoilVerdict::thousandfold || verdict == CoilVerdict::thousandth)
      return other_unit(moved, sensor, verdict);
    return ask_again("", "again keep leave",
                     fmt::format("{:.4g} A at commissioning, not plausible", moved.amps));
  }

  Result<std::string> other_unit(const Moved& moved, int sensor, CoilVerdict verdict) {
    const bool milliamps = verdict == CoilVerdict::thousandfold;
    const auto yes = dialogue_.yes(
        fmt::format("Take this sensor's values as {}?", milliamps ? "milliamps" : "amps"), true);
    if (!yes) return yes.error();
    if (!*yes) return ask_again("", "again keep leave", "its unit is in doubt");
    if (!map(sensor, milliamps ? "mA" : "A")) return std::string("its unit is in doubt");
    return fmt::format("{:.3f} A at commissioning", milliamps ? moved.amps / 1000 : moved.amps * 1000);
  }

  Result<std::string> swapped(const Moved& moved) {
    const auto what = dialogue_.choose(
        fmt::format(
            "Zone {} was switched on, and the sensor of zone {} moved ({:.3f} A): their sensors are swapped. "
            "Swap them and look again, or map them in the configuration?",
            zone_.number, moved.number, moved.amps),
        "again map leave");
    if (!what) return what.error();
    if (*what == "map") return judge(moved, moved.number);
    return *what == "leave" ? std::string("its sensor is another's") : std::string();
  }

  Result<std::string> ask_again(const std::string& words, const std::string& choices,
                                const std::string& note) {
    if (!words.empty()) dialogue_.say(words);
    const auto what = dialogue_.choose("Look again, or go on?", choices);
    if (!what) return what.error();
    return *what == "again" ? std::string() : note;
  }

  // false: the file has a [[sensor]] for it already, which only a person can put right.
  bool map(int sensor, const std::string& unit) {
    if (has_sensor(config_, zone_.number)) {
      dialogue_.say(fmt::format("The configuration has a [[sensor]] for {} already: put it right there.",
                                channel_of(zone_.number)));
      return false;
    }
    SensorConfig entry;
    entry.topic = fmt::format("{}/{}/measure/zone/{}/current", config_.mqtt.prefix, config_.site.id, sensor);
    entry.channel = channel_of(zone_.number);
    entry.decoder = "number";
    entry.unit = unit;
    config_.sensors.push_back(std::move(entry));
    return true;
  }

  Result<bool> switch_off() {
    const auto off = dialogue_.done(fmt::format("Switch zone {} off", zone_.number), false);
    if (!off) return off.error();
    for (double waited = 0; waited <= links_.wait_s; waited += seconds_of(kLookEvery)) {
      const auto now = links_.live();
      if (!now) return now.error();
      if (moved_since(before_, *now).empty() || all_refused(*now)) return true;
      links_.pause(kLookEvery);
    }
    dialogue_.say("Current still flows: is it off? What comes next may be judged wrongly.");
    return true;
  }

  bool all_refused(const LiveZones& now) const {
    return std::ranges::all_of(moved_since(before_, now), [](const Moved& m) { return m.refused; });
  }

  Dialogue& dialogue_;
  const CommissionLinks& links_;
  Config& config_;
  const ZoneConfig& zone_;
  LiveZones before_;  // as it was before the first switch-on
};

Result<bool> ask_box(Dialogue& dialogue, const Config& config, ZoneConfig& zone) {
  if (config.boxes.empty()) return true;
  const std::string now = zone.box >= 0 ? config.boxes[static_cast<std::size_t>(zone.box)].id : "unknown";
  for (;;) {
    const auto box = dialogue.ask("  Its box", now);
    if (!box) return box.error();
    zone.box = config.box_by_id(*box);
    if (zone.box >= 0 || *box == "unknown") return true;
    dialogue.say(fmt::format("There is no box '{}'.", *box));
  }
}

}  // namespace

Result<bool> ask_zone(Dialogue& dialogue, Config& config, ZoneConfig& zone) {
  const auto name = dialogue.ask(fmt::format("Zone {}: its name", zone.number), zone.name);
  if (!name) return name.error();
  zone.name = *name;
  if (auto box = ask_box(dialogue, config, zone); !box) return box;
  const auto valves = dialogue.number("  Valves that it opens", zone.valves, 1, 12);
  if (!valves) return valves.error();
  zone.valves = static_cast<int>(*valves);
  const auto amps = dialogue.number("  Holding current printed on one solenoid, A (0: not known)",
                                    measured(zone.hold_amps) ? zone.hold_amps : 0, 0, 5);
  if (!amps) return amps.error();
  zone.hold_amps = *amps > 0 ? *amps : kNotMeasured;
  return true;
}

Result<std::string> look_at_zone(Dialogue& dialogue, const CommissionLinks& links, Config& config,
                                 const ZoneConfig& zone) {
  return ZoneLook(dialogue, links, config, zone).walk();
}

}  // namespace coilward
