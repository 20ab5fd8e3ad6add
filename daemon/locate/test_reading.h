// What a technician measured in the field (contract section 9), as it is entered, kept and read back.
// Thread: any.
#pragma once

#include <string>
#include <vector>

#include "daemon/base/pipeline_json.h"
#include "daemon/base/result.h"
#include "daemon/locate/place.h"
#include "daemon/locate/wire_path.h"

namespace coilward {

enum class ReadingKind { volts_on, ohms, source_volts };
enum class Toward { valve, controller };

struct TestReading {
  ReadingKind kind = ReadingKind::volts_on;
  int zone = 0;                           // whose wire
  std::string at;                         // a stop of its way
  double value = 0;                       // V, or ohms (kOpenOhms: no path), or V to earth, by kind
  Toward toward = Toward::valve;          // of ohms
  double source_volts = 0;                // of source_volts
  Conductor conductor = Conductor::zone;  // of source_volts
  UtcTime taken = kNever;
  std::string by;
};

// What a meter on a 24 volt circuit can show. Beyond that it is the wrong circuit or the wrong unit.
inline constexpr double kMostVolts = 60;
// Of a test source; about 40 is common practice.
inline constexpr double kLeastSourceVolts = 5, kMostSourceVolts = 120;

// The members by which a reading is asked for and kept: at, volts_on | ohms and toward | source_volts,
// volts_to_earth and conductor; by. bad_input, with what is allowed: none or several forms, a form that is
// not whole, a value that cannot be, a place that is not on the zone's way.
Result<TestReading> reading_from_json(const Json& json, const WirePath& path);
// The same members, zone beside them.
Json reading_to_json(const TestReading& reading);
// Of what was kept. bad_input: not such a text.
Result<TestReading> reading_from_text(const std::string& text, UtcTime taken);

// "26.1 V with the zone on at B", "33 ohms toward the valve at A".
std::string reading_words(const TestReading& reading);

std::string_view reading_kind_name(ReadingKind kind);  // "volts_on", "ohms", "source_volts"
std::string_view conductor_name(Conductor conductor);  // "zone", "common"
std::string_view toward_name(Toward toward);           // "valve", "controller"

}  // namespace coilward
