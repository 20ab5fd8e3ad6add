// Who may come in: people with their passwords' hashes, sessions, and links that only read. Plain state: no
// clock, thread or file. Of every secret only a hash is here. Thread: one.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/result.h"
#include "daemon/base/time.h"
#include "daemon/login/role.h"

namespace coilward {

struct Person {
  std::string name;  // as it was given; capitals make no difference
  Role role = Role::homeowner;
  std::string hash;  // of the password
  UtcTime since = kNever;
};

struct LoginSession {
  std::string kept;  // kept_form of the cookie's secret
  std::string name;
  UtcTime since = kNever, seen = kNever;
  std::string from;  // address of the login
};

struct ShareLink {
  std::string id;     // names it in lists
  std::string kept;   // kept_form of the link's secret
  std::string label;  // whom it is for
  std::string by;
  UtcTime since = kNever, until = kNever;
};

// Own choice: a phone in the pocket stays logged in through a season's visits, a lost one does not for long.
inline constexpr std::chrono::hours kSessionIdle{14 * 24}, kSessionLongest{90 * 24};
inline constexpr std::size_t kMostPeople = 100, kMostSessionsEach = 20, kMostLinks = 100;
inline constexpr int kShareDays = 7, kMostShareDays = 31;

class LoginBook {
 public:
  const std::vector<Person>& people() const { return people_; }
  const Person* person(std::string_view name) const;  // nullptr: there is none
  // bad_input: not a name, or the first is no technician. conflict: there is one of that name, or too many.
  Result<bool> may_add(const std::string& name, Role role) const;
  Result<bool> add(Person person);
  // Ends their sessions. not_found.
  Result<bool> set_hash(std::string_view name, std::string hash);
  // And their sessions and links. not_found. conflict: the last technician stays.
  Result<bool> remove(std::string_view name);

  // As if never added, without a question.
  void forget_person(std::string_view name);

  // The oldest of the same person's gives way at the ceiling.
  void open_session(std::string_view secret, std::string_view name, UtcTime now, std::string from = {});
  // Those of a person that live, newest first.
  std::vector<LoginSession> sessions(std::string_view name, UtcTime now) const;
  // Whose it is; nullptr: nobody's any more.
  const Person* session(std::string_view secret, UtcTime now) const;
  // Notes that it was used. true: long enough after the time before that this is worth keeping on the disk.
  bool use_session(std::string_view secret, UtcTime now);
  bool close_session(std::string_view secret);
  void close_sessions(std::string_view name, std::string_view except_secret = {});

  // conflict: too many at once.
  Result<bool> add_share(ShareLink link, UtcTime now);
  const ShareLink* share(std::string_view secret, UtcTime now) const;  // nullptr: none, or over
  std::vector<ShareLink> shares(UtcTime now) const;                    // those not over, newest first
  Result<bool> revoke_share(std::string_view id);

  // What is over is left out. The text of the file, without its secrets in plain.
  std::string to_text(UtcTime now) const;
  // bad_input: it is not such a text.
  static Result<LoginBook> from_text(const std::string& text);

 private:
  Person* find(std::string_view name);
  std::vector<Person> people_;
  std::vector<LoginSession> sessions_;
  std::vector<ShareLink> shares_;
};

bool session_lives(const LoginSession& session, UtcTime now);
// Capitals of ASCII make no difference.
bool same_name(std::string_view a, std::string_view b);

}  // namespace coilward
