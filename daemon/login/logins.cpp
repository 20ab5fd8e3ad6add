#include "daemon/login/logins.h"

#include <fmt/format.h>
#include <unistd.h>

#include <cstdio>

#include "daemon/base/log.h"
#include "daemon/login/attempt_keys.h"
#include "daemon/login/login_file.h"
#include "daemon/login/password.h"
#include "daemon/login/secret.h"

namespace coilward {
namespace {

// Waiting for the thread: own choice. As many again for those who are familiar, so that a crowd of strangers
// does not keep them out.
constexpr int kMostHashing = 8;
constexpr std::size_t kLongestLabel = 60;

// What was given as a name is not written down unless it is one: it may be a password in the wrong field.
void tell_failed(const std::string& name, const std::string& address) {
  if (!name.empty()) return log::warning("a login as {} from {} failed", name, address);
  log::limited(log::Level::warning, "login-nobody",
               fmt::format("a login from {} failed: nobody has that name", address));
}

}  // namespace

LoginThreads on_this_thread() {
  const auto at_once = [](const std::function<void()>& job) { job(); };
  return {at_once, at_once};
}

std::shared_ptr<Logins> Logins::open(const std::string& file, LoginThreads threads, const Clock& clock) {
  std::shared_ptr<Logins> logins(new Logins(file, std::move(threads), clock));
  logins->load();
  if (!logins->anybody()) logins->code_ = set_up_code();
  return logins;
}

void Logins::load() {
  auto text = read_private_file(file_);
  if (!text) return void(damaged_ = text.error().what);
  if (!*text) return;
  auto book = LoginBook::from_text(**text);
  if (book)
    book_ = std::move(*book);
  else
    damaged_ = fmt::format("{}: {}", file_, book.error().what);
}

const Person* Logins::session(const std::string& secret) {
  const Person* person = book_.session(secret, clock_.utc());
  if (person && book_.use_session(secret, clock_.utc())) save([](const Result<bool>&) {});
  return person;
}

// ---- coming in

Logins::Counted Logins::counted(const Attempt& attempt) const {
  AttemptKeys keys = attempt_keys(book_.person(attempt.name), attempt.name, attempt.address, attempt.known);
  return {std::move(keys.address), std::move(keys.name), keys.familiar};
}

bool Logins::may_begin(const Attempt& attempt, const Answer& answer) {
  const Counted by = counted(attempt);
  const auto wait = guard_.begin(by.address, by.name, clock_.steady());
  if (wait.count() > 0) {
    log::limited(log::Level::warning, "login",
                 fmt::format("somebody at {} tries passwords", attempt.address));
    answer({{}, {}, wait, fmt::format("Too many attempts. Try again in {} s.", wait.count())});
    return false;
  }
  if (hashing_ < (by.familiar ? 2 * kMostHashing : kMostHashing)) return true;
  answer({{}, {}, std::chrono::seconds{5}, "Too many people log in at this moment. Try again in 5 s."});
  return false;
}

void Logins::check(Attempt attempt, const std::string& hash, std::function<void(bool)> then) {
  ++hashing_;
  threads_.work([self = shared_from_this(), attempt = std::move(attempt), hash, then = std::move(then)] {
    const bool known = !hash.empty();
    const bool good = password_matches(attempt.password, known ? hash : hash_of_nobody()) && known;
    self->threads_.post([self, good, then] {
      --self->hashing_;
      then(good);
    });
  });
}

void Logins::log_in(Attempt attempt, Answer answer) {
  if (!may_begin(attempt, answer)) return;
  const Person* person = book_.person(attempt.name);
  const std::string hash = person ? person->hash : "", name = person ? person->name : "";
  check(attempt, hash, [this, attempt, hash, name, answer = std::move(answer)](bool good) {
    // The password may have been set anew, or the person removed, meanwhile.
    const Person* now = book_.person(attempt.name);
    if (good && now && now->hash == hash) return let_in(attempt, now->name, answer);
    tell_failed(name, attempt.address);
    answer({{}, {}, {}, kWrongLogin});
  });
}

void Logins::let_in(const Attempt& attempt, const std::string& name, const Answer& answer) {
  const Counted by = counted(attempt);
  guard_.succeeded(by.address, by.name);
  const std::string secret = random_secret(), known = known_browser(*book_.person(name));
  book_.open_session(secret, name, clock_.utc(), attempt.address);
  log::info("{} logged in from {}", name, attempt.address);
  save([secret, known, answer](const Result<bool>&) { answer({secret, known, {}, {}}); });
}

void Logins::log_out(const std::string& secret, Done done) {
  book_.close_session(secret);
  save(std::move(done));
}

void Logins::log_out_elsewhere(const std::string& name, const std::string& secret, Done done) {
  book_.close_sessions(name, secret);
  save(std::move(done));
}

void Logins::set_up(Attempt attempt, const std::string& code, Answer answer) {
  const std::string name = std::exchange(attempt.name, "the set-up");
  if (!may_begin(attempt, answer)) return;
  if (anybody()) return answer({{}, {}, {}, "Somebody is set up already."});
  if (!same_secret(plain_code(code), plain_code(code_)))
    return answer({{}, {}, {}, "This is not the code. `coilward person list` on the machine tells it."});
  const std::string used = std::exchange(code_, {});  // once
  add_person(name, Role::technician, attempt.password, [=, this](const Result<bool>& added) {
    if (!added) code_ = used;
    if (!added) return answer({{}, {}, {}, "No: " + added.error().what + "."});
    let_in(attempt, name, answer);
  });
}

// ---- people

void Logins::hash(const std::string& password, std::function<void(Result<std::string>)> then) {
  threads_.work([self = shared_from_this(), password, then = std::move(then)] {
    auto hash = hash_password(password);
    self->threads_.post([then, hash = std::move(hash)] { then(hash); });
  });
}

void Logins::add_person(const std::string& name, Role role, const std::string& password, Done done) {
  if (auto may = book_.may_add(name, role); !may) return done(may);
  if (const auto fault = password_fault(password, name)) return done(Error{Cause::bad_input, *fault});
  hash(password, [this, name, role, done = std::move(done)](const Result<std::string>& hashed) {
    if (!hashed) return done(hashed.error());
    if (auto added = book_.add({name, role, *hashed, clock_.utc()}); !added) return done(added);
    save([this, name, role, done](const Result<bool>& saved) {
      if (!saved) book_.forget_person(name);
      if (saved) log::info("{} may come in now, as {}", name, role_name(role));
      if (saved) somebody_came();
      done(saved);
    });
  });
}

void Logins::somebody_came() {
  code_.clear();
  damaged_.clear();
  if (on_first_) std::exchange(on_first_, nullptr)();
}

void Logins::set_password(const std::string& name, const std::string& password, Done done) {
  if (!book_.person(name))
    return done(Error{Cause::not_found, fmt::format("there is nobody called '{}'", name)});
  if (const auto fault = password_fault(password, name)) return done(Error{Cause::bad_input, *fault});
  hash(password, [this, name, done = std::move(done)](const Result<std::string>& hashed) {
    if (!hashed) return done(hashed.error());
    if (auto set = book_.set_hash(name, *hashed); !set) return done(set);
    for (const std::string& key : name_keys(name)) guard_.forget_name(key);
    save(done);
  });
}

void Logins::change_password(Attempt old, const std::string& password, const std::string& session,
                             Answer answer) {
  if (const auto fault = password_fault(password, old.name))
    return answer({{}, {}, {}, "No: " + *fault + "."});
  if (!may_begin(old, answer)) return;
  const Person* person = book_.person(old.name);
  check(old, person ? person->hash : "", [this, old, password, session, answer](bool good) {
    if (!good) return answer({{}, {}, {}, "The old password is not right."});
    const Counted by = counted(old);
    guard_.succeeded(by.address, by.name);
    const bool here = book_.session(session, clock_.utc()) != nullptr;
    set_password(old.name, password, [this, old, here, session, answer](const Result<bool>& set) {
      if (!set) return answer({{}, {}, {}, set.error().what});
      if (here) book_.open_session(session, old.name, clock_.utc(), old.address);
      const Person* changed = book_.person(old.name);
      const std::string known = changed ? known_browser(*changed) : "";
      save([session, known, answer](const Result<bool>&) { answer({session, known, {}, {}}); });
    });
  });
}

void Logins::remove_person(const std::string& name, Done done) {
  if (auto removed = book_.remove(name); !removed) return done(removed);
  log::info("{} may not come in any more", name);
  save(std::move(done));
}

// ---- links

void Logins::make_share(const std::string& label, const std::string& by, int days, Made made) {
  if (days < 1 || days > kMostShareDays)
    return made(Error{Cause::bad_input, fmt::format("{} days: allowed are 1 to {}", days, kMostShareDays)});
  if (!anybody())
    return made(Error{Cause::conflict, "nobody has a password yet: there is nothing that a link would open"});
  const std::string secret = random_secret();
  const UtcTime now = clock_.utc();
  const std::string id = kept_form(random_token()).substr(0, 8);
  const auto added = book_.add_share(
      {id, kept_form(secret), label.substr(0, kLongestLabel), by, now, now + std::chrono::days{days}}, now);
  if (!added) return made(added.error());
  save([this, id, secret, made = std::move(made)](const Result<bool>& saved) {
    if (!saved) (void)book_.revoke_share(id);
    made(saved ? Result<std::string>(secret) : Result<std::string>(saved.error()));
  });
}

void Logins::revoke_share(const std::string& id, Done done) {
  if (auto revoked = book_.revoke_share(id); !revoked) return done(revoked);
  save(std::move(done));
}

// ---- the file

void Logins::save(Done done) {
  threads_.work([self = shared_from_this(), text = book_.to_text(clock_.utc()), aside = !damaged_.empty(),
                 done = std::move(done)] {
    const std::string kept = self->file_ + ".damaged";
    if (aside) std::rename(self->file_.c_str(), kept.c_str());
    auto saved = write_private_file(self->file_, text);
    self->threads_.post([saved = std::move(saved), done] {
      if (!saved) log::limited(log::Level::error, "people", saved.error().what);
      done(saved);
    });
  });
}

}  // namespace coilward
