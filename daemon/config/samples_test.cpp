// The samples in config/, and what is documented about every key.
#include <gtest/gtest.h>

#include <fmt/format.h>
#include <filesystem>
#include <fstream>
#include <functional>
#include <map>
#include <sstream>

#include "daemon/config/config.h"
#include "daemon/config/keys.h"

namespace coilward {
namespace {

std::string read(const std::filesystem::path& path) {
  std::ifstream file(path);
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

std::vector<std::filesystem::path> samples() {
  std::vector<std::filesystem::path> out;
  for (const auto& entry : std::filesystem::directory_iterator(COILWARD_SOURCE_DIR "/config"))
    if (entry.path().extension() == ".toml") out.push_back(entry.path());
  return out;
}

TEST(Samples, AreGood) {
  EXPECT_GE(samples().size(), 3U);
  for (const auto& path : samples()) {
    const auto config = load_config(path);
    EXPECT_TRUE(config.has_value()) << (config.has_error() ? config.error().what : "");
  }
}

TEST(Samples, TheParkHasEverything) {
  const auto config = load_config(COILWARD_SOURCE_DIR "/config/park.toml");
  ASSERT_TRUE(config.has_value());
  EXPECT_EQ(config->commons.size(), 2U);
  EXPECT_TRUE(config->commons[1].wire.stranded);
  EXPECT_NEAR(config->boxes[0].metres, 64.008, 1e-9);  // 210 ft
  EXPECT_EQ(config->zone(kMasterZone)->name, "Main valve at the well");
  EXPECT_EQ(config->zone(12)->common, 1);
  EXPECT_EQ(config->mqtt.version, 5);
  EXPECT_EQ(config->sensors[1].settings["value"], "/reading/rms");
  EXPECT_EQ(config->notifiers[1].at_least, Severity::urgent);
  EXPECT_EQ(config->exporters[0].settings["directory"], "/srv/coilward");
}

bool belongs_to_plugin(const std::string& table, const std::string& key) {
  const TableSpec* spec = find_table(table);
  return spec && spec->open && !find_key(table, key);
}

// A slip in any one key of ours is noticed. In tables that name a plugin the host finds it, not the loader,
// unless the key must be there.
TEST(Samples, MisspellingAnyKeyIsRefused) {
  int tried = 0;
  for (const auto& path : samples()) {
    const std::string text = read(path);
    std::istringstream lines(text);
    std::size_t at = 0;
    std::string table;
    for (std::string line; std::getline(lines, line); at += line.size() + 1) {
      if (line.starts_with("[")) {
        const auto name = line.find_first_not_of('[');
        table = line.substr(name, line.find(']') - name);
      }
      const auto equals = line.find(" = ");
      if (equals == std::string::npos || line.starts_with("#") || line.starts_with("[")) continue;
      const std::string key = line.substr(0, equals);
      const KeySpec* spec = find_key(table, key);
      if (belongs_to_plugin(table, key) || (find_table(table)->open && !spec->required)) continue;
      std::string broken = text;
      broken.insert(at + equals, "x");
      const auto config = parse_config(broken, "f");
      ASSERT_TRUE(config.has_error()) << path << " " << line;
      EXPECT_NE(config.error().what.find(table + "." + key), std::string::npos) << config.error().what;
      ++tried;
    }
  }
  EXPECT_GE(tried, 60);
}

using Get = std::function<std::string(const Config&)>;
template <class Value>
std::string text_of(const Value& value) {
  return fmt::format("{}", value);
}

// How each documented default looks in Config.
const std::map<std::string, Get> kDefaults = {
    {"site.name", [](const Config& c) { return c.site.name == c.site.id ? "the id" : c.site.name; }},
    {"site.timezone", [](const Config& c) { return c.site.timezone; }},
    {"site.lengths", [](const Config& c) { return c.site.feet ? "feet" : "metres"; }},
    {"mqtt.url", [](const Config& c) { return c.mqtt.url; }},
    {"mqtt.version", [](const Config& c) { return c.mqtt.version == 4 ? "3.1.1" : "5"; }},
    {"mqtt.keep_alive_s", [](const Config& c) { return text_of(c.mqtt.keep_alive_s); }},
    {"mqtt.prefix", [](const Config& c) { return c.mqtt.prefix; }},
    {"supply.volts", [](const Config& c) { return text_of(c.supply.volts); }},
    {"supply.hertz", [](const Config& c) { return text_of(c.supply.hertz); }},
    {"supply.volt_amps", [](const Config& c) { return text_of(c.supply.volt_amps); }},
    {"common.awg", [](const Config& c) { return text_of(c.commons[0].wire.awg); }},
    {"common.stranded", [](const Config& c) { return text_of(c.commons[0].wire.stranded); }},
    {"box.from", [](const Config& c) { return c.boxes[0].from; }},
    {"box.splices", [](const Config& c) { return text_of(c.boxes[0].splices); }},
    {"box.repaired", [](const Config& c) { return text_of(c.boxes[0].repaired); }},
    {"box.dug", [](const Config& c) { return text_of(c.boxes[0].dug); }},
    {"zone.name", [](const Config& c) { return c.zones[0].name == "Zone 1" ? "Zone <number>" : ""; }},
    {"zone.awg", [](const Config& c) { return text_of(c.zones[0].wire.awg); }},
    {"zone.stranded", [](const Config& c) { return text_of(c.zones[0].wire.stranded); }},
    {"zone.valves", [](const Config& c) { return text_of(c.zones[0].valves); }},
    {"zone.common", [](const Config& c) { return c.zones[0].common == 0 ? "the first" : ""; }},
    {"zone.box", [](const Config& c) { return c.zones[0].box == -1 ? "not said" : ""; }},
    {"master.name", [](const Config& c) { return c.master.output.name; }},
    {"master.awg", [](const Config& c) { return text_of(c.master.output.wire.awg); }},
    {"master.stranded", [](const Config& c) { return text_of(c.master.output.wire.stranded); }},
    {"master.valves", [](const Config& c) { return text_of(c.master.output.valves); }},
    {"sensor.decoder", [](const Config& c) { return c.sensors[0].decoder; }},
    {"notifier.at_least",
     [](const Config& c) { return std::string(severity_name(c.notifiers[0].at_least)); }},
    {"person.audience", [](const Config& c) { return std::string(audience_name(c.people[0].audience)); }},
    {"person.language", [](const Config& c) { return std::string(language_name(c.people[0].language)); }},
    {"person.at_least", [](const Config& c) { return std::string(severity_name(c.people[0].at_least)); }},
    {"person.faults", [](const Config& c) { return c.people[0].faults.empty() ? "all" : ""; }},
    {"person.zones", [](const Config& c) { return c.people[0].zones.empty() ? "all" : ""; }},
    {"person.quiet", [](const Config& c) { return c.people[0].quiet ? "" : "never"; }},
    {"person.after_h", [](const Config& c) { return text_of(c.people[0].after_h); }},
    {"heartbeat.url", [](const Config& c) { return c.heartbeat.url.empty() ? "none" : ""; }},
    {"heartbeat.topic", [](const Config& c) { return c.heartbeat.topic.empty() ? "none" : ""; }},
    {"heartbeat.every_s", [](const Config& c) { return text_of(c.heartbeat.every_s); }},
    {"heartbeat.readings_s", [](const Config& c) { return text_of(c.heartbeat.readings_s); }},
    {"alerts.hold_s", [](const Config& c) { return text_of(c.alerts.hold_s); }},
    {"alerts.clear_hold_s", [](const Config& c) { return text_of(c.alerts.clear_hold_s); }},
    {"alerts.group_s", [](const Config& c) { return text_of(c.alerts.group_s); }},
    {"alerts.trouble_hold_s", [](const Config& c) { return text_of(c.alerts.trouble_hold_s); }},
    {"alerts.repeat_h",
     [](const Config& c) { return fmt::format("[{}]", fmt::join(c.alerts.repeat_h, ", ")); }},
    {"alerts.max_per_hour", [](const Config& c) { return text_of(c.alerts.max_per_hour); }},
    {"forecast.lift_share", [](const Config& c) { return text_of(c.forecast.lift_share); }},
    {"forecast.hold_share", [](const Config& c) { return text_of(c.forecast.hold_share); }},
    {"forecast.horizon_days", [](const Config& c) { return text_of(c.forecast.horizon_days); }},
    {"visit.walk_metres_per_minute", [](const Config& c) { return text_of(c.visit.walk_metres_per_minute); }},
    {"visit.open_box_minutes", [](const Config& c) { return text_of(c.visit.open_box_minutes); }},
    {"visit.volts_minutes", [](const Config& c) { return text_of(c.visit.volts_minutes); }},
    {"visit.ohms_minutes", [](const Config& c) { return text_of(c.visit.ohms_minutes); }},
    {"visit.source_minutes", [](const Config& c) { return text_of(c.visit.source_minutes); }},
    {"visit.source_setup_minutes", [](const Config& c) { return text_of(c.visit.source_setup_minutes); }},
    {"visit.dig_minutes_per_metre", [](const Config& c) { return text_of(c.visit.dig_minutes_per_metre); }},
    {"visit.splice_minutes", [](const Config& c) { return text_of(c.visit.splice_minutes); }},
    {"visit.coil_minutes", [](const Config& c) { return text_of(c.visit.coil_minutes); }},
    {"visit.controller_minutes", [](const Config& c) { return text_of(c.visit.controller_minutes); }},
    {"visit.dug_weight", [](const Config& c) { return text_of(c.visit.dug_weight); }},
    {"visit.repaired_weight", [](const Config& c) { return text_of(c.visit.repaired_weight); }},
    {"history.commit_s", [](const Config& c) { return text_of(c.history.commit_s); }},
    {"history.raw_days", [](const Config& c) { return text_of(c.history.raw_days); }},
    {"paths.state", [](const Config& c) { return c.paths.state; }},
    {"paths.run", [](const Config& c) { return c.paths.run; }},
    {"http.port", [](const Config& c) { return text_of(c.http.port); }},
    {"http.metrics", [](const Config& c) { return text_of(c.http.metrics); }},
    {"test_run.allow", [](const Config& c) { return text_of(c.test_run.allow); }},
};

TEST(Keys, LeftOutTheyAreAsDocumented) {
  const auto config = parse_config(
      "[site]\nid = \"a\"\n[[common]]\nid = \"c\"\n[[box]]\nid = \"A\"\nmetres = 1\n[[zone]]\nnumber = 1\n"
      "[master]\n[[sensor]]\ntopic = \"t\"\nchannel = \"zone/1/command\"\n"
      "[[notifier]]\nname = \"n\"\nplugin = \"command\"\n[[person]]\nname = \"p\"\nby = [\"n\"]\n",
      "f");
  ASSERT_TRUE(config.has_value()) << config.error().what;
  for (const auto& [name, get] : kDefaults) {
    const auto dot = name.find('.');
    const KeySpec* spec = find_key(name.substr(0, dot), name.substr(dot + 1));
    ASSERT_NE(spec, nullptr) << name;
    EXPECT_EQ(get(*config), spec->otherwise) << name;
  }
}

// What the loader reads and what is documented are one table; the document is made from it.
TEST(Keys, TheReferenceInTheRepositoryIsUpToDate) {
  EXPECT_EQ(read(COILWARD_SOURCE_DIR "/config/REFERENCE.md"), config_reference()) << "make it anew: " << [] {
    const auto path = std::filesystem::temp_directory_path() / "coilward-REFERENCE.md";
    std::ofstream(path) << config_reference();
    return "cp " + path.string() + " config/REFERENCE.md";
  }();
}

TEST(Keys, EveryKeyIsExplained) {
  for (const auto& key : config_keys()) {
    EXPECT_NE(std::string(key.help), "") << key.table << "." << key.key;
    EXPECT_NE(find_table(key.table), nullptr) << key.table;
  }
}

TEST(Keys, TheNearestIsFoundAndNothingFar) {
  EXPECT_EQ(nearest("zonne", {"zone", "common"}), "zone");
  EXPECT_EQ(nearest("meters", {"metres", "feet"}), "metres");
  EXPECT_EQ(nearest("watering", {"zone", "common"}), "");
}

}  // namespace
}  // namespace coilward
