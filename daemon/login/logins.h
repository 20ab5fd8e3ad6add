// Who may come in, as the running daemon asks it: the book (login_book.h), its file, hashing away from the
// core thread, and the wait of those who guess.
//
// Thread: the core's. Answers come through callbacks on the same thread, once each, after the change is on
// the disk. What cannot be written: a new person or link is undone; what shuts somebody out (a password set
// anew, a removal, a revoked link, a logout) counts all the same, until the process ends or the next change
// is written.
#pragma once

#include <functional>
#include <memory>
#include <string>

#include "daemon/base/clock.h"
#include "daemon/login/attempt_guard.h"
#include "daemon/login/login_book.h"

namespace coilward {

// Where long work is done, and how what follows comes back to the core thread. Tests do both at once.
struct LoginThreads {
  std::function<void(std::function<void()>)> work;
  std::function<void(std::function<void()>)> post;
};

// Where there is no other thread: all at once, within the call.
LoginThreads on_this_thread();

struct LoginAnswer {
  std::string session;           // the cookie's secret; empty: not let in
  std::string known;             // for the browser to keep, so that it need not wait for others' attempts
  std::chrono::seconds wait{0};  // not before
  std::string wrong;             // for people, when not let in
};

class Logins : public std::enable_shared_from_this<Logins> {
 public:
  using Done = std::function<void(Result<bool>)>;
  using Made = std::function<void(Result<std::string>)>;
  using Answer = std::function<void(LoginAnswer)>;
  // What somebody gives of himself, and from where (for the wait). known: what a login has given the browser.
  struct Attempt {
    std::string name, password, address;
    std::string known = {};
  };

  // A file that cannot be read is not "nobody": nothing is open then (damaged()), and the first person that
  // is made moves it aside. The clock outlives it.
  static std::shared_ptr<Logins> open(const std::string& file, LoginThreads threads, const Clock& clock);

  bool anybody() const { return !book_.people().empty(); }
  const std::string& damaged() const { return damaged_; }  // what is wrong with the file; empty: nothing
  // To make the first person on the page with; `coilward person list` tells it. Empty once there is somebody.
  const std::string& code() const { return code_; }
  // Called once there is somebody.
  void on_first(std::function<void()> call) { on_first_ = std::move(call); }

  // nullptr: nobody. Counts as use.
  const Person* session(const std::string& secret);
  const ShareLink* share(const std::string& secret) const { return book_.share(secret, clock_.utc()); }
  const std::vector<Person>& people() const { return book_.people(); }
  std::vector<LoginSession> sessions(const std::string& name) const {
    return book_.sessions(name, clock_.utc());
  }
  UtcTime now() const { return clock_.utc(); }
  std::vector<ShareLink> shares() const { return book_.shares(clock_.utc()); }

  // The same words, in the same time, for a wrong password and for a name that nobody has.
  void log_in(Attempt attempt, Answer answer);
  void log_out(const std::string& secret, Done done);
  // All sessions of a person but this one.
  void log_out_elsewhere(const std::string& name, const std::string& secret, Done done);
  // With the code; lets the first technician in at once.
  void set_up(Attempt attempt, const std::string& code, Answer answer);
  void add_person(const std::string& name, Role role, const std::string& password, Done done);
  void set_password(const std::string& name, const std::string& password, Done done);
  // By the person: knows the old one. The other sessions end, this one goes on.
  void change_password(Attempt old, const std::string& password, const std::string& session, Answer answer);
  void remove_person(const std::string& name, Done done);
  // The link's secret, only now. bad_input: days. conflict: too many links, or there is nobody.
  void make_share(const std::string& label, const std::string& by, int days, Made made);
  void revoke_share(const std::string& id, Done done);

 private:
  Logins(std::string file, LoginThreads threads, const Clock& clock)
      : file_(std::move(file)), threads_(std::move(threads)), clock_(clock) {}
  struct Counted {
    std::string address, name;
    bool familiar = false;  // a known browser, or from near
  };
  Counted counted(const Attempt& attempt) const;
  void load();
  bool may_begin(const Attempt& attempt, const Answer& answer);
  void check(Attempt attempt, const std::string& hash, std::function<void(bool)> then);
  void hash(const std::string& password, std::function<void(Result<std::string>)> then);
  void let_in(const Attempt& attempt, const std::string& name, const Answer& answer);
  void save(Done done);
  void somebody_came();

  const std::string file_;
  const LoginThreads threads_;
  const Clock& clock_;
  LoginBook book_;
  AttemptGuard guard_;
  std::string damaged_, code_;
  std::function<void()> on_first_;
  int hashing_ = 0;  // passwords that wait for the thread
};

}  // namespace coilward
