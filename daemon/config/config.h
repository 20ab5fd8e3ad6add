// A site's configuration as read from TOML and checked: lengths in metres, conductors as copper
// cross-section, every reference resolved. Nothing here is half-right: a Config exists only when the whole
// file was good.
#pragma once

#include <map>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "daemon/base/result.h"
#include "daemon/pipeline.h"

namespace coilward {

struct SiteConfig {
  std::string id;                // a-z 0-9 and '-'
  std::string name;              // defaults to id
  std::string timezone = "UTC";  // IANA
  bool feet = false;             // lengths of wire are shown in feet, not in metres
};

struct MqttConfig {
  std::string url = "mqtt://127.0.0.1:1883";  // mqtt:// or mqtts://
  int version = 4;                            // 4 is MQTT 3.1.1, 5 is MQTT 5
  std::string client_id;                      // empty: coilward-<site>-<hash of the machine id>
  std::string username;
  std::string password_file;  // credentials by file, never inline
  std::string ca_file, cert_file, key_file;
  int keep_alive_s = 30;
  std::string prefix = "coilward";
};

struct SupplyConfig {
  double volts = 24.0;  // rated secondary volts, under rated load
  double hertz = 60.0;  // 50 or 60
  double volt_amps = 40.0;
  double source_ohms = kNotMeasured;  // derived from the rating when not given
};

// Copper as configured. Exactly one of awg and square_mm is given; square_mm is always filled.
struct ConductorConfig {
  double square_mm = 0;
  int awg = 0;  // 0: was given as square_mm
  bool stranded = false;
};

struct CommonConfig {
  std::string id = "main";
  ConductorConfig wire;
};

struct BoxConfig {
  std::string id;
  std::string from = "controller";  // "controller" or a box named earlier or later; no loops
  double metres = 0;
  int parent = -1;  // position of `from` in Config::boxes; -1 is the controller
  // What the owner remembers of it: where a break is likelier.
  int splices = 1;        // in each wire that comes through
  bool repaired = false;  // a splice there was made anew in the field
  bool dug = false;       // someone dug along the stretch that leads to it
};

// What a technician's visit costs, in minutes, and what the notes on boxes weigh. Common practice, rough: a
// walk along the wire, a lid to find and lift, a trench by hand.
struct VisitConfig {
  double walk_metres_per_minute = 60;
  double open_box_minutes = 3;
  double volts_minutes = 2;         // one reading with the zone on, its switching included
  double ohms_minutes = 6;          // the splice undone and made again
  double source_minutes = 2;        // one reading against an earth stake
  double source_setup_minutes = 5;  // test source to a wire at the controller, and off again
  double dig_minutes_per_metre = 5;
  double splice_minutes = 12;     // made anew
  double coil_minutes = 20;       // another coil put in, and what it costs
  double controller_minutes = 5;  // terminals and output looked after
  double dug_weight = 4;          // a dug stretch fails so many times as often
  double repaired_weight = 3;     // and a repaired splice
};

struct ZoneConfig {
  int number = 0;        // 1..255
  std::string name;      // defaults to "Zone <n>"
  int box = -1;          // position in Config::boxes; -1: not said
  ConductorConfig wire;  // default 18 AWG
  int common = 0;        // position in Config::commons
  int valves = 1;
  double hold_amps = kNotMeasured;  // rated values of ONE solenoid at rated volts
  double inrush_amps = kNotMeasured;
};

// Optional: the master valve or pump-start output. present is false when the file has no [master].
struct MasterConfig {
  bool present = false;
  ZoneConfig output;
};

// A sensor with topics of its own, or with a decoder other than the guess made for coilward/<site>/measure/#.
struct SensorConfig {
  std::string topic;                // MQTT topic filter
  std::string channel;              // "zone/4/current"; may be empty for decoder senml (the name says it)
  std::string decoder;              // plugin name
  std::string unit;                 // of the payload: A, mA, V, mV, Cel, degF; required for number and json
  double every_s = kNotMeasured;    // expected interval; learned when not given
  double max_value = kNotMeasured;  // sensor's rating in the channel's unit
  nlohmann::ordered_json settings = nlohmann::ordered_json::object();  // the plugin's own keys
  int line = 0;                                                        // in the file, for messages
};

struct PluginUse {   // [[notifier]] and [[exporter]]
  std::string name;  // unique, chosen by the user
  std::string plugin;
  Severity at_least = Severity::watch;  // notifiers: alerts below are not sent this way
  nlohmann::ordered_json settings = nlohmann::ordered_json::object();
  int line = 0;
};

// How someone is spoken to.
enum class Audience : std::uint8_t { homeowner, technician, contractor };
enum class Language : std::uint8_t { english, spanish };
std::string_view audience_name(Audience audience);  // "homeowner"
std::optional<Audience> audience_from_name(std::string_view name);
std::string_view language_name(Language language);  // "en"
std::optional<Language> language_from_name(std::string_view name);

// Minutes of the site's day, 0 to 1440; an end that is not after the start is on the next day.
struct QuietHours {
  int start = 0;
  int end = 0;
};

struct PersonConfig {  // [[person]]
  std::string name;    // unique, beside the notifiers' too
  Audience audience = Audience::technician;
  Language language = Language::english;
  std::vector<std::string> by;  // names of notifiers: the first, and those that stand by
  Severity at_least = Severity::watch;
  std::vector<Fault> faults;  // empty: all
  std::vector<int> zones;     // empty: all
  std::optional<QuietHours> quiet;
  double after_h = 0;  // only of what nobody has acknowledged for so long
};

// A sign of life that is sent only while the whole path is sound.
struct HeartbeatConfig {
  std::string url;    // empty: none
  std::string topic;  // empty: none
  double every_s = 300;
  double readings_s = 900;  // readings count as arriving when one came within this time
};

// When a corroding splice is forecast to leave a plunger too little. Shares are of the normal draw. Common
// practice, from memory, so that they can be set: a 24 V valve is to open with some 20 V at it and holds with
// far less.
struct ForecastConfig {
  double lift_share = 0.80;   // below it the plunger is not lifted any more
  double hold_share = 0.50;   // and below this it drops
  double horizon_days = 120;  // nothing is said of what is farther away (own choice)
};

struct AlertConfig {
  double hold_s = 0;        // wait before saying (a finding that ends meanwhile is never told)
  double clear_hold_s = 0;  // wait before saying that it is over
  // What comes within it of the first goes into one message: findings of one moment (a dead supply, a cut
  // trench) come within seconds of each other (own choice).
  double group_s = 10;
  std::vector<double> repeat_h = {1, 6, 24};  // hours after the first; the last one repeats
  double trouble_hold_s = 120;                // wait before telling a trouble of the installation
  int max_per_hour = 6;                       // messages for one finding, unless it gets worse
};

struct HistoryConfig {
  double commit_s = 300;  // readings reach the disk at least this often (power-cut loss); 1..3600
  int raw_days = 400;
};

struct PathConfig {
  std::string state;    // precious files; default $STATE_DIRECTORY, else /var/lib/coilward
  std::string run;      // spool and socket, on tmpfs; default $RUNTIME_DIRECTORY, else /run/coilward
  std::string plugins;  // default: where the program was installed or built
};

// Zones switched on for a test, by a request that the controller may honour.
struct TestRunConfig {
  bool allow = false;
};

struct HttpConfig {
  int port = 0;                  // 0: no TCP port, the Unix socket only
  std::string address;           // IP address; empty: 127.0.0.1 and ::1
  std::string certificate, key;  // PEM files; both or none
  bool behind_proxy = false;     // a reverse proxy on this machine asks for others
  bool metrics = true;
  // Lines of the keys, for what only the daemon can tell of them: 0 when left out.
  std::uint32_t address_line = 0, certificate_line = 0, proxy_line = 0;
  bool beyond_loopback() const;  // others reach the port itself
};

// The contractor's broker, where this site's findings and summaries go. No url: nowhere.
struct FleetConfig {
  MqttConfig mqtt{.url = {}};    // url, credentials, keep_alive_s
  double every_minutes = 60;     // runs and roll-ups are collected for so long
  double monthly_megabytes = 0;  // of a metered link, 10^6 bytes; 0: no limit
  bool on() const { return !mqtt.url.empty(); }
};

struct Config {
  std::string file;  // where it was read from
  SiteConfig site;
  MqttConfig mqtt;
  SupplyConfig supply;
  std::vector<CommonConfig> commons;  // never empty: "main", 14 AWG when left out
  std::vector<BoxConfig> boxes;
  std::vector<ZoneConfig> zones;  // ascending by number
  MasterConfig master;
  std::vector<SensorConfig> sensors;
  std::vector<PluginUse> notifiers;
  std::vector<PersonConfig> people;
  std::vector<PluginUse> exporters;
  std::map<std::string, nlohmann::ordered_json>
      decoder_settings;  // [decoder.NAME]: for topics under measure/
  AlertConfig alerts;
  HeartbeatConfig heartbeat;
  ForecastConfig forecast;
  VisitConfig visit;
  HistoryConfig history;
  PathConfig paths;
  HttpConfig http;
  FleetConfig fleet;
  TestRunConfig test_run;

  const ZoneConfig* zone(
      int number) const;  // nullptr when there is none; kMasterZone gives the master's output
  int box_by_id(std::string_view id) const;  // -1: none
  int common_by_id(std::string_view id) const;
};

// Channel texts of a site: "zone/4/current", "common/main/current". nullopt: not a channel of this contract.
// A zone number that the configuration does not have is still a channel.
std::optional<Channel> parse_channel(std::string_view text, const Config& config);
std::string channel_text(Channel channel, const Config& config);

// Reads and checks a file. The error names file, line, key, what was found, what is allowed and, for an
// unknown key, the nearest known one; Cause::bad_config. Environment is used only for path defaults. Thread:
// any.
Result<Config> load_config(const std::string& path);
// The same from text; `name` stands for the file in messages.
Result<Config> parse_config(std::string_view text, const std::string& name);

}  // namespace coilward
