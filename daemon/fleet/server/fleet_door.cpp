#include "daemon/fleet/server/fleet_door.h"

#include <fmt/format.h>

#include "daemon/base/log.h"
#include "daemon/login/attempt_keys.h"
#include "daemon/login/password.h"
#include "daemon/login/secret.h"

namespace coilward {

// Who was meant (without a hash: nobody), and by what the attempt is counted.
struct FleetDoor::Found {
  Person person;
  AttemptKeys keys;
};

Result<FleetDoor::Found> FleetDoor::find(const Logins::Attempt& attempt) {
  const auto rows = database_.run("select name, hash from person where key = lower($1::text collate \"C\")",
                                  {attempt.name});
  if (!rows) return rows.error();
  Found found;
  if (rows->size() > 0) {
    found.person.name = rows->text(0, 0);
    found.person.hash = rows->text(0, 1);
  }
  found.keys =
      attempt_keys(rows->size() > 0 ? &found.person : nullptr, attempt.name, attempt.address, attempt.known);
  return found;
}

// Counts as failed until it is not. A wait of 0: it may be made.
LoginAnswer FleetDoor::wait_first(const Found& found) {
  const auto wait = guard_.begin(found.keys.address, found.keys.name, clock_.steady());
  if (wait.count() == 0) return {};
  return {{}, {}, wait, fmt::format("Too many attempts. Try again in {} s.", wait.count())};
}

Result<LoginAnswer> FleetDoor::log_in(const Logins::Attempt& attempt) {
  const auto found = find(attempt);
  if (!found) return found.error();
  if (LoginAnswer wait = wait_first(*found); wait.wait.count() > 0) return wait;
  const bool known = !found->person.hash.empty();
  if (password_matches(attempt.password, known ? found->person.hash : hash_of_nobody()) && known)
    return let_in(*found, attempt);
  // What was given as a name is not written down unless it is one: it may be a password in the wrong field.
  log::limited(log::Level::warning, "login of " + found->person.name,
               fmt::format("a login as {} from {} failed", known ? found->person.name : "nobody we know",
                           attempt.address));
  return LoginAnswer{{}, {}, {}, kWrongLogin};
}

// Only if the password is still the one that was compared. The oldest sessions give way.
Result<LoginAnswer> FleetDoor::let_in(const Found& found, const Logins::Attempt& attempt) {
  const std::string secret = random_secret();
  const auto in = database_.run(
      "insert into login_session (kept, key, address) select $1, p.key, $2 from person p where p.key = "
      "lower($3::text "
      "collate \"C\") and p.hash = $4 returning kept",
      {kept_form(secret), attempt.address, found.person.name, found.person.hash});
  if (!in) return in.error();
  if (in->size() == 0) return LoginAnswer{{}, {}, {}, kWrongLogin};
  const auto fewer = database_.run(
      "delete from login_session s where s.key = lower($1::text collate \"C\") and (s.seen < now() - "
      "$2::interval or "
      "s.since < now() - $3::interval or s.kept in (select kept from login_session where key = s.key order "
      "by since desc "
      "offset $4::int))",
      {found.person.name, fmt::format("{} hours", kSessionIdle.count()),
       fmt::format("{} hours", kSessionLongest.count()), fmt::to_string(kMostSessionsEach)});
  if (!fewer) return fewer.error();
  guard_.succeeded(found.keys.address, found.keys.name);
  log::info("{} logged in from {}", found.person.name, attempt.address);
  return LoginAnswer{secret, known_browser(found.person), {}, {}};
}

Result<bool> FleetDoor::log_out(const std::string& secret) {
  const auto done = database_.run("delete from login_session where kept = $1", {kept_form(secret)});
  return done ? Result<bool>(true) : done.error();
}

Result<bool> FleetDoor::log_out_elsewhere(const FleetVisitor& visitor) {
  const auto done =
      database_.run("delete from login_session where key = lower($1::text collate \"C\") and kept <> $2",
                    {visitor.name, kept_form(visitor.secret)});
  return done ? Result<bool>(true) : done.error();
}

Result<std::int64_t> FleetDoor::sessions(const FleetVisitor& visitor) {
  const auto rows = database_.run(
      "select count(*) from login_session where key = lower($1::text collate \"C\") and seen > now() - "
      "$2::interval and "
      "since > now() - $3::interval",
      {visitor.name, fmt::format("{} hours", kSessionIdle.count()),
       fmt::format("{} hours", kSessionLongest.count())});
  return rows ? Result<std::int64_t>(rows->integer(0, 0)) : rows.error();
}

Result<LoginAnswer> FleetDoor::change_password(const FleetVisitor& visitor, const Logins::Attempt& old,
                                               const std::string& password) {
  if (const auto fault = password_fault(password, visitor.name))
    return LoginAnswer{{}, {}, {}, "No: " + *fault + "."};
  auto found = find(old);
  if (!found) return found.error();
  if (LoginAnswer wait = wait_first(*found); wait.wait.count() > 0) return wait;
  if (!password_matches(old.password, found->person.hash))
    return LoginAnswer{{}, {}, {}, "The old password is not right."};
  const auto hash = hash_password(password);
  if (!hash) return hash.error();
  const auto set = database_.run(
      "update person set hash = $3 where key = lower($1::text collate \"C\") and hash = $2 returning name",
      {visitor.name, found->person.hash, *hash});
  if (!set) return set.error();
  if (set->size() == 0) return LoginAnswer{{}, {}, {}, "The password was changed meanwhile."};
  guard_.succeeded(found->keys.address, found->keys.name);
  if (auto others = log_out_elsewhere(visitor); !others) return others.error();
  found->person.hash = *hash;
  return LoginAnswer{visitor.secret, known_browser(found->person), {}, {}};
}

}  // namespace coilward
