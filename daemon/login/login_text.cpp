// The book as the text of a file, and back.
#include <nlohmann/json.hpp>

#include "daemon/base/pipeline_json.h"
#include "daemon/login/login_book.h"

namespace coilward {
namespace {

constexpr int kVersion = 1;

UtcTime time_of(const Json& json, const char* key) {
  const auto time = parse_rfc3339(json.at(key).get<std::string>());
  if (!time) throw Json::other_error::create(501, std::string(key) + " is no instant", &json);
  return *time;
}

Role role_of(const Json& json) {
  const auto role = role_from_name(json.at("role").get<std::string>());
  if (!role) throw Json::other_error::create(501, "role is not known", &json);
  return *role;
}

std::string text_of(const Json& json, const char* key) { return json.at(key).get<std::string>(); }

}  // namespace

std::string LoginBook::to_text(UtcTime now) const {
  Json people = Json::array(), sessions = Json::array(), links = Json::array();
  for (const Person& p : people_)
    people.push_back(
        {{"name", p.name}, {"role", role_name(p.role)}, {"hash", p.hash}, {"since", time_or_null(p.since)}});
  for (const LoginSession& s : sessions_)
    if (session_lives(s, now))
      sessions.push_back({{"kept", s.kept},
                          {"name", s.name},
                          {"since", time_or_null(s.since)},
                          {"seen", time_or_null(s.seen)},
                          {"from", s.from}});
  for (const ShareLink& s : shares_)
    if (s.until > now)
      links.push_back({{"id", s.id},
                       {"kept", s.kept},
                       {"label", s.label},
                       {"by", s.by},
                       {"since", time_or_null(s.since)},
                       {"until", time_or_null(s.until)}});
  const Json all = {
      {"coilward_people", kVersion}, {"people", people}, {"sessions", sessions}, {"shares", links}};
  return all.dump(1, ' ', false, Json::error_handler_t::replace) + "\n";
}

Result<LoginBook> LoginBook::from_text(const std::string& text) {
  LoginBook book;
  try {
    const Json all = Json::parse(text);
    if (all.at("coilward_people") != kVersion) return Error{Cause::bad_input, "it is of a newer coilward"};
    for (const Json& p : all.at("people"))
      book.people_.push_back({text_of(p, "name"), role_of(p), text_of(p, "hash"), time_of(p, "since")});
    for (const Json& s : all.at("sessions"))
      book.sessions_.push_back({text_of(s, "kept"), text_of(s, "name"), time_of(s, "since"),
                                time_of(s, "seen"), text_of(s, "from")});
    for (const Json& s : all.at("shares"))
      book.shares_.push_back({text_of(s, "id"), text_of(s, "kept"), text_of(s, "label"), text_of(s, "by"),
                              time_of(s, "since"), time_of(s, "until")});
  } catch (const nlohmann::json::exception& failure) {
    return Error{Cause::bad_input, failure.what()};
  }
  return book;
}

}  // namespace coilward
