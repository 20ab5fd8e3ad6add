// The values that travel from message to delivery, in that order. Everything here is plain data: no clock,
// thread, file or socket. Field names are those of the JSON and of the SQL columns. Units are in the name;
// "amps" and "volts" are RMS at mains frequency. NaN in a double means "not measured" (see `measured`).
#pragma once

#include <cmath>
#include <cstdint>
#include <limits>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "daemon/base/time.h"

namespace coilward {

inline constexpr double kNotMeasured = std::numeric_limits<double>::quiet_NaN();
inline bool measured(double value) { return !std::isnan(value); }

inline constexpr int kMaxZone = 255;
inline constexpr int kMasterZone =
    0;  // the master valve or pump-start output, where a zone number is expected

// ---- message
// ------------------------------------------------------------------------------------------------

// One delivery from the broker, or one line of a recording. The views live as long as the call they are
// passed to.
struct Message {
  std::string_view topic;
  std::string_view payload;
  UtcTime arrival = kNever;    // when this machine received it
  bool retained = false;       // delivered from the broker's store at subscribe time: not a fresh reading
  bool duplicate = false;      // the DUP flag
  bool time_unsure = false;    // the machine's clock was not known good at arrival
  std::uint64_t sequence = 0;  // its place in the spool; 0 outside of it
};

// ---- reading
// ------------------------------------------------------------------------------------------------

enum class ChannelKind : std::uint8_t {
  zone_current,
  zone_voltage,
  zone_command,
  master_current,
  master_command,
  common_current,
  supply_voltage,
  air_temperature,
  soil_temperature,
};

// What a reading is a value of. index: the zone number (1..255) for zone_*; the position in Config::commons
// for common_current; 0 otherwise.
struct Channel {
  ChannelKind kind = ChannelKind::zone_current;
  std::uint8_t index = 0;
  friend bool operator==(const Channel&, const Channel&) = default;
  friend auto operator<=>(const Channel&, const Channel&) = default;
};

// A small number for each channel, for tables indexed by channel.
inline constexpr std::size_t kChannelSlots = 9 * 256;
inline std::size_t channel_slot(Channel channel) {
  return static_cast<std::size_t>(channel.kind) * 256 + channel.index;
}

struct Reading {
  Channel channel;
  UtcTime time = kNever;
  double value = kNotMeasured;  // A, V, 1/0 or Cel by channel kind (contract section 2)
  bool time_unsure = false;
};

// ---- run
// ----------------------------------------------------------------------------------------------------

enum class RunEnd : std::uint8_t {
  running,       // not over yet: an early look
  switched_off,  // the command went off, or the current did where there is no command channel
  cut_out,       // current stopped although the command stayed on
  silent,        // readings stopped coming
};

// One point of the switch-on burst, or of the thinned course of a run.
struct RunPoint {
  std::int32_t ms = 0;  // since the run's start
  float amps = 0;
};

// One energised period of one zone. A run without current while commanded is a run too.
struct Run {
  int zone = 0;            // kMasterZone for the master output
  UtcTime start = kNever;  // switch-on
  UtcTime end = kNever;    // switch-off; the latest reading seen while running
  RunEnd ended = RunEnd::running;
  bool commanded = false;             // the command channel said on (false too where there is none)
  bool has_command = false;           // the zone has a command channel
  bool inferred = false;              // no command channel and no current: its turn in a learned programme
  std::uint32_t readings = 0;         // current readings inside
  double inrush_amps = kNotMeasured;  // highest level before the plunger seats; only from a burst
  double seat_ms = kNotMeasured;      // from switch-on until the current has fallen to the holding level
  double hold_amps = kNotMeasured;    // robust level after the switch-on, warm-up taken out, at first_minute
  double hold_spread_amps = kNotMeasured;    // robust standard deviation of single readings about that level
  double warm_up_per_minute = kNotMeasured;  // relative change of the level a minute
  double last_amps = kNotMeasured;           // level over the last readings
  double lowest_amps = kNotMeasured;         // lowest and highest single reading after the switch-on
  double highest_amps = kNotMeasured;
  std::uint32_t dips = 0;              // times the current fell below half of its level and came back
  double idle_amps = kNotMeasured;     // level of this channel while off, before the run: the sensor's zero
  double zone_volts = kNotMeasured;    // at the zone's terminals, mean
  double supply_volts = kNotMeasured;  // transformer secondary while on, mean
  double supply_volts_idle = kNotMeasured;  // the same with nothing on, latest
  double common_amps = kNotMeasured;        // returning on the zone's common, mean
  double soil_celsius = kNotMeasured;
  double air_celsius = kNotMeasured;
  std::vector<int> shared_with;  // other zones (and kMasterZone) on during most of it
  bool sharing_unsure = false;   // so far; one that may be on has not been heard since
  bool work_on_site = false;     // somebody worked on it meanwhile (a pause): nothing is concluded from it
  std::vector<RunPoint> burst;   // switch-on waveform when readings came at most 50 ms apart
};

// ---- normal draw
// --------------------------------------------------------------------------------------------

// What was learned for one zone, at the site's present supply and season, nothing else on.
struct NormalDraw {
  int zone = 0;
  double hold_amps = kNotMeasured;
  double hold_low = kNotMeasured;  // 95 % band for a single run
  double hold_high = kNotMeasured;
  double inrush_amps = kNotMeasured;
  double inrush_low = kNotMeasured;
  double inrush_high = kNotMeasured;
  std::uint32_t runs = 0;   // learned from
  bool provisional = true;  // too few runs to rely on
};

// ---- finding
// ------------------------------------------------------------------------------------------------

enum class Fault : std::uint8_t {
  open_circuit,
  failed_common,
  shorted_coil,
  high_resistance,
  common_high_resistance,
  partial_open,
  crossed_wires,
  plunger_not_seated,
  earth_leakage,
  supply_low,
  supply_lost,
  stuck_on,
  missed_run,
  sensor_fault,
};
inline constexpr int kFaults = 14;

enum class Severity : std::uint8_t { watch, soon, urgent };

struct Alternative {
  Fault fault = Fault::open_circuit;
  double probability = 0;
};

// A stretch of wire: "controller" or a box id at each end.
struct Stretch {
  std::string from;
  std::string to;
  double probability = 0;
};

struct Evidence {
  std::string channel;  // zone/4/current
  double observed = kNotMeasured;
  double expected = kNotMeasured;
  double low = kNotMeasured;  // what would have been normal
  double high = kNotMeasured;
  std::string unit;
  UtcTime run = kNever;  // start of the run it is from
};

// One zone of a repair: what it drew before the fault, with it, and after; what it should.
struct RepairedZone {
  int zone = 0;
  double before_amps = kNotMeasured;  // learned before the fault
  double fault_amps = kNotMeasured;
  double after_amps = kNotMeasured;                          // in the latest run since the repair
  double low_amps = kNotMeasured, high_amps = kNotMeasured;  // what it should draw in that run
  double fault_ohms = kNotMeasured;  // in series with it: too many while the fault was there
  double left_ohms = kNotMeasured;   // and still
  UtcTime run = kNever;              // start of that run
  bool by_circuit = false;           // what it should draw is by its rating and wire, not learned
  bool cut_out = false;              // the run was
};

// Someone said that it was repaired, and what runs since then say to that.
struct RepairProof {
  UtcTime marked = kNever;
  bool new_coil = false;
  std::optional<bool> proved;  // none: no run since
  std::vector<RepairedZone> zones;
  std::string words;  // one or two sentences; empty while no zone has run
};

// An interval that holds the true instant in 80 of 100 cases.
struct ForecastTime {
  UtcTime low = kNever, likely = kNever, high = kNever;
};

// When a draw that slowly falls will no longer do.
struct LiftForecast {
  int zone = 0;                      // of several, the one that fails first
  ForecastTime lift;                 // its plunger is no longer lifted from then on: it stays dry
  std::optional<ForecastTime> hold;  // no longer held; left out where that is too far to be said
  double share_now = 1;              // of the normal draw, by the trend
  int runs = 0;                      // the trend is made of
};

struct Finding {
  std::string id;  // 20260504-061209-z4-open_circuit; the same from first to last
  Fault fault = Fault::open_circuit;
  std::vector<int> zones;  // every zone the fault takes out, ascending
  Severity severity = Severity::watch;
  double probability = 0;                 // calibrated
  std::vector<Alternative> alternatives;  // most probable first
  std::vector<Stretch> where;             // most probable first; empty when nothing can be said
  UtcTime opened = kNever;
  UtcTime updated = kNever;
  UtcTime closed = kNever;   // kNever while open
  std::string common;        // id of the common concerned, empty otherwise (not in the JSON of the contract)
  std::string close_reason;  // why it closed: the zone draws normally again, repaired, withdrawn ...
  std::vector<Evidence> evidence;
  std::string summary;  // one or two plain sentences
  std::optional<RepairProof> repair;
  std::optional<LiftForecast> forecast;  // where something useful can be said
  bool is_open() const { return closed == kNever; }
};

// ---- alert
// --------------------------------------------------------------------------------------------------

enum class AlertKind : std::uint8_t { opened, worse, repeat, closed, installation, test, digest };

// What its history adds to one finding of a message.
struct AlertDetail {
  bool worse = false;  // of a message of kind worse: really worse, not only another name
  int times = 0;       // openings, when it comes and goes
  bool comes_and_goes = false;
};

// The draw of one zone over its latest runs, oldest first, and what is normal for it (NaN: not said).
struct AlertDraw {
  int zone = 0;
  std::vector<double> amps;
  double low = kNotMeasured;
  double high = kNotMeasured;
};

// A trouble of the installation, of kind `installation`. Its texts are in the catalogue by key.
struct AlertTrouble {
  std::string key;  // "broker"; "outbox phone": the first word is the catalogue's
  std::vector<std::pair<std::string, std::string>> fields;  // what its texts leave open
  UtcTime since = kNever;
  bool lasting = true;  // false: it is over
  bool still = false;   // told before
};

// What is told to a person: one message for one cause. The id is the idempotency key and the mail's
// Message-ID.
struct Alert {
  std::string id;
  AlertKind kind = AlertKind::opened;
  Severity severity = Severity::watch;
  std::string site;
  std::string site_name;
  std::vector<Finding> findings;
  UtcTime raised = kNever;           // when it became due, which is not when it gets through
  std::string subject;               // one line, for a technician, in English
  std::string text;                  // plain text with the usual cautions
  std::vector<AlertDetail> details;  // one for each finding
  std::vector<AlertDraw> draws;      // of the first finding's first zone, where runs are known
  std::optional<AlertTrouble> trouble;
};

// ---- names
// --------------------------------------------------------------------------------------------------

std::string_view fault_name(Fault fault);  // "open_circuit"
std::optional<Fault> fault_from_name(std::string_view name);
std::string_view severity_name(Severity severity);  // "urgent"
std::optional<Severity> severity_from_name(std::string_view name);
std::string_view run_end_name(RunEnd end);  // "switched_off"
std::string_view alert_kind_name(AlertKind kind);
std::string_view channel_unit(ChannelKind kind);  // SenML: "A", "V", "Cel"; "" for a boolean

}  // namespace coilward
