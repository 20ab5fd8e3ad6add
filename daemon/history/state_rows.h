// The rows of state.db that are not values of the pipeline.
#pragma once

#include <cstdint>
#include <string>

#include "daemon/pipeline.h"

namespace coilward {

// One alert on its way by one notifier. (alert, notifier) is unique: queueing it again changes nothing, so
// an alert that is raised again after a restart is not sent twice.
struct OutboxRow {
  std::string alert;     // Alert::id
  std::string notifier;  // the user's name of it ([[notifier]] name)
  std::string json;      // what the plugin is given
  UtcTime due = kNever;  // not before
};

enum class OutboxState : std::uint8_t { pending, done, refused, given_up };
std::string_view outbox_state_name(OutboxState state);

// The same as it stands in the table.
struct OutboxItem {
  std::int64_t row = 0;
  OutboxRow what;
  OutboxState state = OutboxState::pending;
  int attempts = 0;
  UtcTime next = kNever;   // next attempt, while pending
  UtcTime ended = kNever;  // when it left `pending`
  std::string words;       // the other side's last words
};

struct OutboxCounts {  // of one notifier
  std::uint64_t pending = 0;
  std::uint64_t done = 0;
  std::uint64_t refused = 0;
  std::uint64_t given_up = 0;
  UtcTime oldest_pending = kNever;  // its `due`
};

struct Acknowledgement {
  std::string finding;
  std::string by;  // may be empty
  UtcTime at = kNever;
};

struct Pause {
  UtcTime from = kNever;
  UtcTime until = kNever;
  std::string by;
  std::string reason;
};

// What a technician measured; the JSON is that of the locate stage.
struct TestReadingRow {
  std::string finding;
  UtcTime at = kNever;
  std::string json;
};

struct FindingChange {
  UtcTime at = kNever;  // Finding::updated of that form
  Finding finding;
};

// A form of a finding with its place in the order in which all forms were said.
struct PlacedFinding {
  std::int64_t place = 0;  // ascending, never used again in the same file
  Finding finding;
};

// Everything learned and open, as the pipeline saved it.
struct Snapshot {
  std::string json;        // empty: none
  std::uint64_t mark = 0;  // spool sequence it includes
  UtcTime taken = kNever;
};

}  // namespace coilward
