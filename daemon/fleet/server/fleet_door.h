// The way in, for one worker: passwords, sessions, and the wait of those who guess. Attempts are counted by
// each worker for itself. Thread: one, which may be held up by a password's hash for some tens of
// milliseconds.
#pragma once

#include <string>

#include "daemon/base/clock.h"
#include "daemon/fleet/server/fleet_visitor.h"
#include "daemon/login/attempt_guard.h"
#include "daemon/login/logins.h"

namespace coilward {

// Errors: world.
class FleetDoor {
 public:
  // database: of the role kDoorRole (migrations.h). The clock outlives it.
  FleetDoor(Postgres database, const Clock& clock) : database_(std::move(database)), clock_(clock) {}

  // As Logins: the same words, in the same time, for a wrong password and for a name that nobody has.
  Result<LoginAnswer> log_in(const Logins::Attempt& attempt);
  Result<bool> log_out(const std::string& secret);
  // All sessions of a person but this one.
  Result<bool> log_out_elsewhere(const FleetVisitor& visitor);
  Result<std::int64_t> sessions(const FleetVisitor& visitor);
  // By the person, who knows the old one. The other sessions end, this one goes on.
  Result<LoginAnswer> change_password(const FleetVisitor& visitor, const Logins::Attempt& old,
                                      const std::string& password);
  void connect(Postgres database) { database_ = std::move(database); }
  Postgres& database() { return database_; }

 private:
  struct Found;
  Result<Found> find(const Logins::Attempt& attempt);
  LoginAnswer wait_first(const Found& found);
  Result<LoginAnswer> let_in(const Found& found, const Logins::Attempt& attempt);
  Postgres database_;
  const Clock& clock_;
  AttemptGuard guard_;
};

}  // namespace coilward
