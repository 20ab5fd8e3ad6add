#include "daemon/web/people_desk.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

namespace coilward {
namespace {

// Empty when it is not there, or no text.
std::string body_text(const Json& body, const char* key) {
  const auto it = body.find(key);
  return it != body.end() && it->is_string() ? it->get<std::string>() : std::string();
}

Json share_json(const ShareLink& link) {
  return {{"id", link.id},
          {"label", link.label},
          {"by", link.by},
          {"since", time_or_null(link.since)},
          {"until", time_or_null(link.until)}};
}

Logins::Done then_say(JsonCallback answer, Json json) {
  return [answer = std::move(answer), json = std::move(json)](const Result<bool>& done) {
    answer(done ? json_result(json) : Result<Json>(done.error()));
  };
}

}  // namespace

Json people_to_json(const Logins& logins) {
  Json people = Json::array();
  for (const Person& person : logins.people())
    people.push_back(
        {{"name", person.name}, {"role", role_name(person.role)}, {"since", time_or_null(person.since)}});
  Json json = {{"people", people}};
  if (!logins.code().empty()) json["set_up_code"] = logins.code();
  if (!logins.damaged().empty()) json["damaged"] = logins.damaged();
  return json;
}

Json shares_to_json(const Logins& logins) {
  Json shares = Json::array();
  for (const ShareLink& link : logins.shares()) shares.push_back(share_json(link));
  return {{"shares", shares}};
}

void add_person(Logins& logins, const Json& body, JsonCallback answer) {
  const std::string name = body_text(body, "name"), said = body_text(body, "role");
  const auto role = said.empty() ? std::optional(Role::technician) : role_from_name(said);
  if (!role)
    return answer(
        Error{Cause::bad_input, fmt::format("role is '{}': allowed are technician and homeowner", said)});
  logins.add_person(
      name, *role, body_text(body, "password"),
      then_say(std::move(answer), {{"added", true}, {"name", name}, {"role", role_name(*role)}}));
}

void set_password(Logins& logins, const std::string& name, const Json& body, JsonCallback answer) {
  logins.set_password(name, body_text(body, "password"),
                      then_say(std::move(answer), {{"changed", true}, {"name", name}}));
}

void remove_person(Logins& logins, const std::string& name, JsonCallback answer) {
  logins.remove_person(name, then_say(std::move(answer), {{"removed", true}, {"name", name}}));
}

void make_share(Logins& logins, const Json& body, const std::string& by, JsonCallback answer) {
  const Json days = body.value("days", Json(kShareDays));
  if (!days.is_number_integer() || days < 1 || days > kMostShareDays)
    return answer(
        Error{Cause::bad_input, fmt::format("days is {}: allowed is 1 to {}", days.dump(), kMostShareDays)});
  logins.make_share(body_text(body, "label"), by, days.get<int>(),
                    [&logins, answer = std::move(answer)](const Result<std::string>& secret) {
                      if (!secret) return answer(secret.error());
                      Json json = share_json(*logins.share(*secret));
                      json["path"] = link_path(*secret);
                      answer(json_result(std::move(json)));
                    });
}

void end_share(Logins& logins, const std::string& id, JsonCallback answer) {
  logins.revoke_share(id, then_say(std::move(answer), {{"ended", true}, {"id", id}}));
}

std::string link_path(const std::string& secret) { return "/link/" + secret; }

}  // namespace coilward
