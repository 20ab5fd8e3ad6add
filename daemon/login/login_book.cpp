#include "daemon/login/login_book.h"

#include <fmt/format.h>

#include <algorithm>

#include "daemon/login/secret.h"

namespace coilward {
namespace {

constexpr std::size_t kLongestName = 60;
constexpr std::chrono::hours kSeenStep{6};  // a session's use is written to the card no more often

char lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c; }

std::optional<std::string> name_fault(std::string_view name) {
  if (name.empty() || name.size() > kLongestName)
    return fmt::format("a name has 1 to {} bytes", kLongestName);
  if (name.front() == ' ' || name.back() == ' ') return "a name neither begins nor ends with a blank";
  for (const char c : name)
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7F || c == '/')
      return "a name has no '/' and nothing unprintable";
  return std::nullopt;
}

bool over(const LoginSession& session, UtcTime now) { return !session_lives(session, now); }

Error nobody(std::string_view name) {
  return {Cause::not_found, fmt::format("there is nobody called '{}'", name)};
}

}  // namespace

bool session_lives(const LoginSession& session, UtcTime now) {
  return now - session.since <= kSessionLongest && now - session.seen <= kSessionIdle;
}

bool same_name(std::string_view a, std::string_view b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                    [](char x, char y) { return lower(x) == lower(y); });
}

Person* LoginBook::find(std::string_view name) {
  const auto it =
      std::find_if(people_.begin(), people_.end(), [&](const Person& p) { return same_name(p.name, name); });
  return it == people_.end() ? nullptr : &*it;
}

const Person* LoginBook::person(std::string_view name) const {
  return const_cast<LoginBook*>(this)->find(name);
}

Result<bool> LoginBook::may_add(const std::string& name, Role role) const {
  if (const auto fault = name_fault(name)) return Error{Cause::bad_input, *fault};
  if (person(name)) return Error{Cause::conflict, fmt::format("there is already somebody called '{}'", name)};
  if (people_.empty() && role != Role::technician)
    return Error{Cause::bad_input, "the first person is a technician, who can let others in"};
  if (people_.size() >= kMostPeople)
    return Error{Cause::conflict, fmt::format("there are {} people already", kMostPeople)};
  return true;
}

Result<bool> LoginBook::add(Person person) {
  if (auto may = may_add(person.name, person.role); !may) return may;
  people_.push_back(std::move(person));
  return true;
}

Result<bool> LoginBook::set_hash(std::string_view name, std::string hash) {
  Person* person = find(name);
  if (!person) return nobody(name);
  person->hash = std::move(hash);
  close_sessions(name);
  return true;
}

Result<bool> LoginBook::remove(std::string_view name) {
  const Person* leaving = find(name);
  if (!leaving) return nobody(name);
  const auto technicians = std::count_if(people_.begin(), people_.end(),
                                         [](const Person& p) { return p.role == Role::technician; });
  if (leaving->role == Role::technician && technicians == 1)
    return Error{Cause::conflict, "the last technician stays: add another one first"};
  forget_person(std::string(name));
  return true;
}

void LoginBook::forget_person(std::string_view name) {
  close_sessions(name);
  std::erase_if(shares_, [&](const ShareLink& link) { return same_name(link.by, name); });
  std::erase_if(people_, [&](const Person& p) { return same_name(p.name, name); });
}

void LoginBook::open_session(std::string_view secret, std::string_view name, UtcTime now, std::string from) {
  std::erase_if(sessions_, [now](const LoginSession& s) { return over(s, now); });
  const auto same = [&](const LoginSession& s) { return same_name(s.name, name); };
  while (static_cast<std::size_t>(std::count_if(sessions_.begin(), sessions_.end(), same)) >=
         kMostSessionsEach)
    sessions_.erase(std::find_if(sessions_.begin(), sessions_.end(), same));
  sessions_.push_back({kept_form(secret), std::string(name), now, now, std::move(from)});
}

std::vector<LoginSession> LoginBook::sessions(std::string_view name, UtcTime now) const {
  std::vector<LoginSession> list;
  for (const LoginSession& session : sessions_)
    if (same_name(session.name, name) && !over(session, now)) list.insert(list.begin(), session);
  return list;
}

const Person* LoginBook::session(std::string_view secret, UtcTime now) const {
  const std::string kept = kept_form(secret);
  for (const LoginSession& session : sessions_)
    if (same_secret(session.kept, kept)) return over(session, now) ? nullptr : person(session.name);
  return nullptr;
}

bool LoginBook::use_session(std::string_view secret, UtcTime now) {
  const std::string kept = kept_form(secret);
  for (LoginSession& session : sessions_)
    if (session.kept == kept && now - session.seen > kSeenStep) return session.seen = now, true;
  return false;
}

bool LoginBook::close_session(std::string_view secret) {
  return std::erase_if(sessions_,
                       [kept = kept_form(secret)](const LoginSession& s) { return s.kept == kept; }) > 0;
}

void LoginBook::close_sessions(std::string_view name, std::string_view except_secret) {
  const std::string except = kept_form(except_secret);
  std::erase_if(sessions_,
                [&](const LoginSession& s) { return same_name(s.name, name) && s.kept != except; });
}

Result<bool> LoginBook::add_share(ShareLink link, UtcTime now) {
  std::erase_if(shares_, [now](const ShareLink& s) { return s.until <= now; });
  if (shares_.size() >= kMostLinks)
    return Error{Cause::conflict, fmt::format("there are {} links already: revoke some", kMostLinks)};
  shares_.push_back(std::move(link));
  return true;
}

const ShareLink* LoginBook::share(std::string_view secret, UtcTime now) const {
  const std::string kept = kept_form(secret);
  for (const ShareLink& link : shares_)
    if (same_secret(link.kept, kept)) return link.until > now ? &link : nullptr;
  return nullptr;
}

std::vector<ShareLink> LoginBook::shares(UtcTime now) const {
  std::vector<ShareLink> list;
  for (const ShareLink& link : shares_)
    if (link.until > now) list.insert(list.begin(), link);
  return list;
}

Result<bool> LoginBook::revoke_share(std::string_view id) {
  if (std::erase_if(shares_, [id](const ShareLink& s) { return s.id == id; }) > 0) return true;
  return Error{Cause::not_found, fmt::format("there is no link '{}'", id)};
}

}  // namespace coilward
