#include "daemon/config/keys.h"

#include <fmt/format.h>

#include <algorithm>
#include <numeric>
#include <utility>

namespace coilward {
namespace {

constexpr double kAny = -1;
using enum KeyType;

// Ranges are plausibility, not limits of a norm: wide enough for every site, narrow enough to catch a wrong
// unit.
constexpr KeySpec kKeys[] = {
    {"site", "id", text, "", 0, kAny, true, "", "a-z, 0-9 and '-'; names the site in topics and files"},
    {"site", "name", text, "", 0, kAny, false, "the id", "what people call it"},
    {"site", "timezone", text, "", 0, kAny, false, "UTC", "IANA time zone, such as America/Boise"},
    {"site", "lengths", text, "", 0, kAny, false, "metres",
     "how the page shows lengths of wire: metres or feet"},
    {"mqtt", "url", text, "", 0, kAny, false, "mqtt://127.0.0.1:1883",
     "mqtt://host[:port], or mqtts:// for TLS"},
    {"mqtt", "version", text, "", 0, kAny, false, "3.1.1", "protocol version: 3.1.1 or 5"},
    {"mqtt", "client_id", text, "", 0, kAny, false, "coilward-<site>-<hash of the machine's id>",
     "must differ from every other client's"},
    {"mqtt", "username", text, "", 0, kAny, false, "", "login name"},
    {"mqtt", "password_file", text, "", 0, kAny, false, "", "file with the password; never inline"},
    {"mqtt", "ca_file", text, "", 0, kAny, false, "the system's",
     "certificates that the broker's is checked against"},
    {"mqtt", "cert_file", text, "", 0, kAny, false, "", "own certificate"},
    {"mqtt", "key_file", text, "", 0, kAny, false, "", "its private key"},
    {"mqtt", "keep_alive_s", integer, "s", 5, 3600, false, "30", "seconds between signs of life"},
    {"mqtt", "prefix", text, "", 0, kAny, false, "coilward", "first level of every topic"},
    {"supply", "volts", number, "V", 6, 60, false, "24", "rated volts of the transformer's secondary"},
    {"supply", "hertz", number, "Hz", 50, 60, false, "60", "mains frequency: 50 or 60"},
    {"supply", "volt_amps", number, "VA", 5, 1000, false, "40", "rating of the transformer"},
    {"supply", "source_ohms", number, "ohm", 0, 50, false, "from the rating",
     "ohms in series with the secondary"},
    {"common", "id", text, "", 0, kAny, true, "", "name of this common"},
    {"common", "awg", integer, "AWG", 4, 26, false, "14", "gauge; or square_mm"},
    {"common", "square_mm", number, "mm2", 0.1, 25, false, "", "copper cross-section; or awg"},
    {"common", "stranded", boolean, "", 0, kAny, false, "false", "stranded wire"},
    {"box", "id", text, "", 0, kAny, true, "", "name of the valve box or splice point"},
    {"box", "from", text, "", 0, kAny, false, "controller", "the box the wire comes from, or controller"},
    {"box", "metres", number, "m", 0, 5000, false, "", "length of wire from there; or feet"},
    {"box", "feet", number, "ft", 0, 16000, false, "", "length of wire from there; or metres"},
    {"box", "splices", integer, "", 0, 20, false, "1", "splices in each wire that comes through it"},
    {"box", "repaired", boolean, "", 0, kAny, false, "false",
     "a splice in it was made anew in the field: looked at sooner"},
    {"box", "dug", boolean, "", 0, kAny, false, "false",
     "someone dug along the wire that leads to it: looked at sooner"},
    {"zone", "number", integer, "", 1, 255, true, "", "the controller's output"},
    {"zone", "name", text, "", 0, kAny, false, "Zone <number>", "what people call it"},
    {"zone", "box", text, "", 0, kAny, false, "not said", "the box its valve is in"},
    {"zone", "awg", integer, "AWG", 4, 26, false, "18", "gauge of the zone wire; or square_mm"},
    {"zone", "square_mm", number, "mm2", 0.1, 25, false, "", "copper cross-section; or awg"},
    {"zone", "stranded", boolean, "", 0, kAny, false, "false", "stranded wire"},
    {"zone", "common", text, "", 0, kAny, false, "the first", "the common it returns on"},
    {"zone", "valves", integer, "", 1, 12, false, "1", "valves on this output"},
    {"zone", "hold_amps", number, "A", 0.02, 5, false, "learned", "rated holding current of one solenoid"},
    {"zone", "inrush_amps", number, "A", 0.02, 10, false, "learned", "rated inrush current of one solenoid"},
    {"master", "name", text, "", 0, kAny, false, "Master", "what people call it"},
    {"master", "box", text, "", 0, kAny, false, "not said", "the box of the master valve"},
    {"master", "awg", integer, "AWG", 4, 26, false, "18", "gauge of its wire; or square_mm"},
    {"master", "square_mm", number, "mm2", 0.1, 25, false, "", "copper cross-section; or awg"},
    {"master", "stranded", boolean, "", 0, kAny, false, "false", "stranded wire"},
    {"master", "common", text, "", 0, kAny, false, "the first", "the common it returns on"},
    {"master", "valves", integer, "", 1, 12, false, "1", "coils on this output"},
    {"master", "hold_amps", number, "A", 0.005, 5, false, "learned", "rated holding current"},
    {"master", "inrush_amps", number, "A", 0.005, 10, false, "learned", "rated inrush current"},
    {"sensor", "topic", text, "", 0, kAny, true, "", "MQTT topic, + and # allowed"},
    {"sensor", "channel", text, "", 0, kAny, false, "from the payload", "such as zone/4/current"},
    {"sensor", "decoder", text, "", 0, kAny, false, "number", "plugin that reads the payload"},
    {"sensor", "unit", text, "", 0, kAny, false, "",
     "of the payload: A, mA, V, mV, Cel, degF or boolean; needed for number and json"},
    {"sensor", "every_s", number, "s", 0.01, 86400, false, "learned", "expected interval of its readings"},
    {"sensor", "max_value", number, "", 0, 1e6, false, "by the channel",
     "the sensor's rating; more is refused"},
    {"notifier", "name", text, "", 0, kAny, true, "", "chosen by you"},
    {"notifier", "plugin", text, "", 0, kAny, true, "",
     "email, webpush, mqtt, webhook, command or another that is installed"},
    {"notifier", "at_least", text, "", 0, kAny, false, "watch",
     "watch, soon or urgent: below that nothing is sent this way"},
    {"person", "name", text, "", 0, kAny, true, "", "as others read it"},
    {"person", "by", texts, "", 0, kAny, true, "",
     "names of notifiers: the first that takes the severity; the next stands in when it fails three times"},
    {"person", "audience", text, "", 0, kAny, false, "technician",
     "homeowner (plain words), technician (figures, next reading) or contractor (one line a finding)"},
    {"person", "language", text, "", 0, kAny, false, "en", "en or es"},
    {"person", "at_least", text, "", 0, kAny, false, "watch",
     "watch, soon or urgent: below that this person is not told"},
    {"person", "faults", texts, "", 0, kAny, false, "all", "only these, such as [\"open_circuit\"]"},
    {"person", "zones", numbers, "", 0, 255, false, "all", "only these, such as [1, 2]"},
    {"person", "quiet", text, "", 0, kAny, false, "never",
     "hours by the site's clock, such as 22:00-07:00: urgent news breaks through, the rest comes in one "
     "message at "
     "their end; 07:00-07:00 is one message a day"},
    {"person", "after_h", number, "h", 0, 720, false, "0",
     "told only of what nobody has acknowledged for so long"},
    {"exporter", "name", text, "", 0, kAny, true, "", "chosen by you"},
    {"exporter", "plugin", text, "", 0, kAny, true, "", "csv or another that is installed"},
    {"alerts", "hold_s", number, "s", 0, 86400, false, "0",
     "wait before saying; what ends meanwhile is never told"},
    {"alerts", "clear_hold_s", number, "s", 0, 86400, false, "0", "wait before saying that it is over"},
    {"alerts", "group_s", number, "s", 0, 3600, false, "10",
     "wait for more after the first: what comes meanwhile goes into the same message"},
    {"alerts", "trouble_hold_s", number, "s", 0, 86400, false, "120",
     "wait before telling a trouble of the installation: a broker that restarts is no news"},
    {"alerts", "repeat_h", numbers, "h", 0.01, 8760, false, "[1, 6, 24]",
     "hours until told again; the last one repeats"},
    {"alerts", "max_per_hour", integer, "", 1, 60, false, "6",
     "messages about one finding, unless it gets worse"},
    {"heartbeat", "url", text, "", 0, kAny, false, "none",
     "https:// or http:// address, asked with GET while all is sound"},
    {"heartbeat", "topic", text, "", 0, kAny, false, "none", "MQTT topic, published to while all is sound"},
    {"heartbeat", "every_s", number, "s", 1, 86400, false, "300", "period"},
    {"heartbeat", "readings_s", number, "s", 1, 1e6, false, "900",
     "readings count as arriving when one came within this time; longer than any pause where sensors speak "
     "only "
     "while a zone is on"},
    {"forecast", "lift_share", number, "", 0.5, 0.95, false, "0.8",
     "share of the normal draw below which a plunger is not lifted any more (common practice: a 24 V valve "
     "is to open with some 20 V at it)"},
    {"forecast", "hold_share", number, "", 0.1, 0.9, false, "0.5",
     "share below which it drops (common practice, rough)"},
    {"forecast", "horizon_days", number, "days", 7, 365, false, "120",
     "nothing is said of what is farther away"},
    {"visit", "walk_metres_per_minute", number, "m/min", 5, 600, false, "60",
     "pace along the wire (this and all below: common practice, rough)"},
    {"visit", "open_box_minutes", number, "min", 0, 240, false, "3", "finding a box and opening it"},
    {"visit", "volts_minutes", number, "min", 0, 240, false, "2", "a reading of volts with the zone on"},
    {"visit", "ohms_minutes", number, "min", 0, 240, false, "6",
     "a reading of ohms, the splice undone and made again"},
    {"visit", "source_minutes", number, "min", 0, 240, false, "2",
     "a reading of a test source's volts to an earth stake"},
    {"visit", "source_setup_minutes", number, "min", 0, 240, false, "5",
     "putting the test source to a wire at the controller"},
    {"visit", "dig_minutes_per_metre", number, "min/m", 0, 240, false, "5",
     "digging along a wire, or laying a new one"},
    {"visit", "splice_minutes", number, "min", 0, 240, false, "12", "making a splice anew"},
    {"visit", "coil_minutes", number, "min", 0, 240, false, "20",
     "putting another coil in, and what it costs"},
    {"visit", "controller_minutes", number, "min", 0, 240, false, "5",
     "looking after the controller's output and terminals"},
    {"visit", "dug_weight", number, "", 1, 100, false, "4",
     "a stretch with dug = true fails so many times as often"},
    {"visit", "repaired_weight", number, "", 1, 100, false, "3",
     "a splice with repaired = true fails so many times as often"},
    {"history", "commit_s", number, "s", 1, 3600, false, "300",
     "readings reach the disk at least this often"},
    {"history", "raw_days", integer, "d", 1, 36500, false, "400", "single readings are kept this long"},
    {"paths", "state", text, "", 0, kAny, false, "/var/lib/coilward", "what is kept"},
    {"paths", "run", text, "", 0, kAny, false, "/run/coilward", "spool and socket; on tmpfs"},
    {"paths", "plugins", text, "", 0, kAny, false, "beside the program", "where plugins are"},
    {"http", "port", integer, "", 0, 65535, false, "0", "port of the page; 0 is none"},
    {"http", "address", text, "", 0, kAny, false, "this machine alone",
     "address that it listens on: 0.0.0.0 or :: for every one. One that others reach needs a person with a "
     "password (coilward person add), and certificate and key"},
    {"http", "certificate", text, "", 0, kAny, false, "none",
     "PEM file: the page is served over TLS with it. A new one is taken without a restart"},
    {"http", "key", text, "", 0, kAny, false, "none", "PEM file of its private key, without a password"},
    {"http", "behind_proxy", boolean, "", 0, kAny, false, "false",
     "a reverse proxy on this machine asks for others: its X-Forwarded-For and X-Forwarded-Proto are "
     "believed, and any Host is answered. It must pass Host on, and take no such fields from others"},
    {"http", "metrics", boolean, "", 0, kAny, false, "true", "serve /metrics"},
    {"fleet", "url", text, "", 0, kAny, true, "",
     "mqtts://host[:port] of the contractor's broker, or mqtt://"},
    {"fleet", "username", text, "", 0, kAny, false, "", "login name there"},
    {"fleet", "password_file", text, "", 0, kAny, false, "", "file with the password; never inline"},
    {"fleet", "ca_file", text, "", 0, kAny, false, "the system's",
     "certificates that the broker's is checked against"},
    {"fleet", "cert_file", text, "", 0, kAny, false, "", "own certificate, which says which site this is"},
    {"fleet", "key_file", text, "", 0, kAny, false, "", "its private key"},
    {"fleet", "keep_alive_s", integer, "s", 5, 3600, false, "300, with monthly_megabytes 1800",
     "seconds between signs of life; shorter than what a router on the way forgets after"},
    {"fleet", "every_minutes", number, "min", 1, 1440, false, "60, with monthly_megabytes 240",
     "runs and roll-ups are collected for so long; findings go at once"},
    {"fleet", "monthly_megabytes", number, "MB", 0, 1e6, false, "0: no limit",
     "what a metered link may carry in a month: findings go before summaries, and those before history"},
    {"database", "url", text, "", 0, kAny, true, "",
     "as libpq reads it, such as postgresql://coilward@db.example.org/fleet; without a password"},
    {"database", "password_file", text, "", 0, kAny, false, "", "file with the password; never inline"},
    {"ranking", "silent_h", number, "h", 0.01, 8760, false, "26",
     "a site that was not heard of for so long is silent"},
    {"test_run", "allow", boolean, "", 0, kAny, false, "false",
     "the page may ask the controller to switch a zone on for a test"},
};

constexpr TableSpec kTables[] = {
    {"site", false, false, "The property."},
    {"mqtt", false, false,
     "The broker that the sensors publish to; in a file with role = \"fleet\", the one that the sites dial.",
     FileRole::both},
    {"supply", false, false, "The controller's transformer."},
    {"common", true, false, "Return wires that zones share. Left out: one called main, 14 AWG."},
    {"box", true, false, "Valve boxes and splice points in the order the wire reaches them."},
    {"zone", true, false, "Controller outputs, each with its valve or valves."},
    {"master", false, false, "The master valve or pump-start output, where there is one."},
    {"sensor", true, true,
     "Sensors with topics of their own. Not needed for coilward/<site>/measure/<channel>. Keys of the "
     "decoder "
     "stand beside these."},
    {"notifier", true, true, "A way to tell someone. Keys of the plugin stand beside these."},
    {"person", true, false,
     "Who is told what, when, by which notifier and in which words. A notifier that no person names is told "
     "everything at once, as a technician, in English."},
    {"exporter", true, true, "Where readings, runs and findings go. Keys of the plugin stand beside these."},
    {"decoder", false, true, "[decoder.NAME]: settings of a decoder for topics under measure/."},
    {"alerts", false, false, "When people are told."},
    {"heartbeat", false, false,
     "A sign of life for a watcher elsewhere, sent only while readings arrive, the store can be written, "
     "messages "
     "get out and the diagnosis moves on."},
    {"forecast", false, false,
     "When a corroding splice will leave a plunger too little: said in alerts and findings where it can be."},
    {"visit", false, false,
     "What a visit costs: which test reading `coilward locate` proposes next depends on it."},
    {"history", false, false, "What is kept, and how soon it is on the disk."},
    {"paths", false, false, "Directories."},
    {"http", false, false, "Page and API.", FileRole::both},
    {"fleet", false, false,
     "The contractor's server for many sites. The site dials out; findings go there at once, runs and "
     "roll-ups in "
     "batches."},
    {"database", false, false,
     "PostgreSQL of the contractor's server. Only in a file whose first line is role = \"fleet\", which has "
     "[mqtt], [database], [ranking] and [http] and nothing of a site.",
     FileRole::fleet},
    {"ranking", false, false,
     "Which site needs a visit first, on the contractor's server (role = \"fleet\").", FileRole::fleet},
    {"test_run", false, false,
     "Zones switched on for a test: an MQTT request that the controller may honour. It needs a controller, "
     "or "
     "something beside it, that takes such requests."},
};

// Levenshtein 1966.
std::size_t edit_distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> row(b.size() + 1);
  std::iota(row.begin(), row.end(), 0);
  for (std::size_t i = 1; i <= a.size(); ++i) {
    std::size_t diagonal = row[0]++;
    for (std::size_t j = 1; j <= b.size(); ++j)
      diagonal =
          std::exchange(row[j], std::min({row[j] + 1, row[j - 1] + 1, diagonal + (a[i - 1] != b[j - 1])}));
  }
  return row[b.size()];
}

std::string_view type_text(KeyType type) {
  switch (type) {
    case text:
      return "text in quotes";
    case integer:
      return "a whole number";
    case number:
      return "a number";
    case boolean:
      return "true or false";
    case numbers:
      return "a list of numbers";
    case texts:
      return "a list of texts in quotes";
  }
  return "";
}

}  // namespace

std::span<const KeySpec> config_keys() { return kKeys; }
std::span<const TableSpec> config_tables() { return kTables; }

const TableSpec* find_table(std::string_view name) {
  for (const auto& spec : kTables)
    if (spec.name == name) return &spec;
  return nullptr;
}

const KeySpec* find_key(std::string_view table_name, std::string_view key) {
  for (const auto& spec : kKeys)
    if (spec.table == table_name && spec.key == key) return &spec;
  return nullptr;
}

std::string allowed_text(const KeySpec& spec) {
  std::string out(type_text(spec.type));
  if (spec.low <= spec.high) out += fmt::format(" from {} to {}", spec.low, spec.high);
  if (*spec.unit) out += fmt::format(" ({})", spec.unit);
  return out;
}

std::string nearest(std::string_view wrong, const std::vector<std::string>& known) {
  std::string best;
  std::size_t least = 1 + std::max<std::size_t>(2, wrong.size() / 3);
  for (const auto& name : known) {
    // Half a name ("password" for "password_file") is a slip too, and so is its unit alone ("mm2").
    const bool begins = wrong.size() >= 4 && name.starts_with(wrong);
    const bool unit = (wrong == "mm2" || wrong == "mm") && name == "square_mm";
    if (const auto distance = begins || unit ? 1 : edit_distance(wrong, name); distance < least)
      least = distance, best = name;
  }
  return best;
}

std::string suggestion(std::string_view wrong, const std::vector<std::string>& known) {
  const std::string near = nearest(wrong, known);
  return near.empty() ? fmt::format("known are {}", fmt::join(known, ", "))
                      : fmt::format("did you mean '{}'?", near);
}

}  // namespace coilward
