// The verbs of who may come in: person, share. Asked of the daemon, or done on the file while no daemon runs.
#include <fmt/format.h>

#include <filesystem>
#include <nlohmann/json.hpp>
#include <optional>

#include "daemon/base/clock.h"
#include "daemon/cli/exit_code.h"
#include "daemon/cli/fleet_people_verbs.h"
#include "daemon/cli/say.h"
#include "daemon/cli/secret_input.h"
#include "daemon/cli/table.h"
#include "daemon/cli/verbs.h"
#include "daemon/cli/words.h"
#include "daemon/config/config.h"
#include "daemon/config/fleet_server.h"
#include "daemon/history/state_directory.h"
#include "daemon/login/login_file.h"
#include "daemon/web/people_desk.h"
#include "daemon/web/query.h"

namespace coilward {
namespace {

// One question or change, both ways. body: null for a question.
struct PeopleAsk {
  std::string path;
  Json body;
  std::function<void(Logins&, JsonCallback)> do_it;
};

// The daemon holds the lock, so that this is never done behind its back.
Result<Json> on_files(const SiteOptions& options, const PeopleAsk& ask) {
  if (options.config.empty())
    return Error{Cause::bad_input, "--state needs --config FILE too, the configuration of that site"};
  if (const auto config = load_config(options.config); !config) return config.error();
  if (!std::filesystem::is_directory(options.state))
    return Error{Cause::not_found, fmt::format("there is no directory {}", options.state)};
  const auto lock = StateDirectory::lock(options.state);
  if (!lock) return lock.error();
  const SystemClock clock;
  const auto logins = Logins::open(people_path(options.state), on_this_thread(), clock);
  std::optional<Result<Json>> answer;
  ask.do_it(*logins, [&](Result<Json> a) { answer.emplace(std::move(a)); });
  return answer ? *answer : Result<Json>(Error{Cause::world, "the files gave no answer"});
}

Result<Json> put(const SiteOptions& options, const PeopleAsk& ask) {
  if (!options.state.empty()) return on_files(options, ask);
  const auto caller = reach_site(options);
  if (!caller) return caller.error();
  return ask.body.is_null() ? (*caller)->get(ask.path) : (*caller)->post(ask.path, ask.body);
}

int told(const SiteOptions& options, const PeopleAsk& ask,
         const std::function<std::string(const Json&)>& words) {
  const auto answer = put(options, ask);
  if (!answer) return fail(answer.error());
  if (options.json)
    print_json(*answer);
  else
    print(words(*answer));
  return kExitDone;
}

std::string people_words(const Json& answer) {
  if (answer.contains("damaged"))
    return fmt::format(
        "The file of people cannot be read, so nobody is let in: {}\n`coilward person add` begins a "
        "new one and keeps the old one beside it.\n",
        answer["damaged"].get<std::string>());
  if (answer["people"].empty())
    return fmt::format(
        "Nobody has a password yet: the page is open to this machine alone.\n`coilward person add "
        "NAME` makes the first, and so does the page at /set-up with the code {}\n",
        answer.value("set_up_code", "-"));
  Table table({{"name"}, {"role"}, {"since (UTC)"}});
  for (const Json& person : answer["people"])
    table.add({person["name"], person["role"], local_seconds(person["since"], "UTC")});
  return table.text();
}

std::string shares_words(const Json& answer) {
  if (answer["shares"].empty()) return "There is no link that opens.\n";
  Table table({{"id"}, {"for"}, {"by"}, {"until (UTC)"}});
  for (const Json& link : answer["shares"])
    table.add({link["id"], text_or_dash(link["label"]), text_or_dash(link["by"]),
               local_seconds(link["until"], "UTC")});
  return table.text();
}

int need_name() {
  return fail(Error{Cause::bad_input, "say whom: coilward person add|remove|password NAME"});
}

int with_password(const PersonOptions& options, bool fresh) {
  const auto password = new_password(options.password_file);
  if (!password) return fail(password.error());
  if (fresh) {
    const Json body = {{"name", options.name}, {"role", options.role}, {"password", *password}};
    return told(
        options.site,
        {"/api/v1/people", body, [&](Logins& l, JsonCallback a) { add_person(l, body, std::move(a)); }},
        [&](const Json& done) {
          return fmt::format("{} may come in now, as {}\n", options.name, done.value("role", options.role));
        });
  }
  const Json body = {{"password", *password}};
  return told(options.site,
              {"/api/v1/people/" + options.name + "/password", body,
               [&](Logins& l, JsonCallback a) { set_password(l, options.name, body, std::move(a)); }},
              [&](const Json&) {
                return fmt::format("{} has another password now, and is logged out everywhere\n",
                                   options.name);
              });
}

}  // namespace

int person_verb(const PersonOptions& options) {
  if (!options.site.config.empty() && is_fleet_server_config(options.site.config))
    return fleet_person_verb(options);
  if (!options.organisation.empty() || !options.only_site.empty())
    return fail(Error{Cause::bad_input,
                      "--organisation and --site are for the contractor's server: --config names its file"});
  if (options.action == "list")
    return told(options.site,
                {"/api/v1/people", nullptr,
                 [](Logins& l, const JsonCallback& a) { a(json_result(people_to_json(l))); }},
                people_words);
  if (options.name.empty()) return need_name();
  if (options.action != "remove") return with_password(options, options.action == "add");
  return told(options.site,
              {"/api/v1/people/" + options.name + "/remove", Json::object(),
               [&](Logins& l, JsonCallback a) { remove_person(l, options.name, std::move(a)); }},
              [&](const Json&) { return fmt::format("{} may not come in any more\n", options.name); });
}

int share_verb(const ShareOptions& options) {
  if (options.action == "list")
    return told(options.site,
                {"/api/v1/shares", nullptr,
                 [](Logins& l, const JsonCallback& a) { a(json_result(shares_to_json(l))); }},
                shares_words);
  if (options.action == "end") {
    if (options.what.empty()) return fail(Error{Cause::bad_input, "say which: coilward share end ID"});
    return told(options.site,
                {"/api/v1/shares/" + options.what + "/end", Json::object(),
                 [&](Logins& l, JsonCallback a) { end_share(l, options.what, std::move(a)); }},
                [&](const Json&) { return fmt::format("{} opens nothing any more\n", options.what); });
  }
  const Json body = {{"label", options.what}, {"days", options.days}, {"by", options.by}};
  return told(options.site,
              {"/api/v1/shares", body,
               [&](Logins& l, JsonCallback a) { make_share(l, body, options.by, std::move(a)); }},
              [](const Json& link) {
                return fmt::format(
                    "{}\nPut this after the address of the page, as in https://garden.example{}\nIt is "
                    "not shown again, and opens the site until {}\n",
                    link["path"].get<std::string>(), "/link/...", link["until"].get<std::string>());
              });
}

}  // namespace coilward
