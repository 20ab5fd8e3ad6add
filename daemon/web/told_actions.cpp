// What the forms of the page "Who is told" do: a test of one way, a phone more, a phone less. As
// page_actions.cpp.
#include <fmt/format.h>

#include <algorithm>

#include "daemon/web/api_route.h"
#include "daemon/web/page_frame.h"

namespace coilward {
namespace {

ApiResponse back_to_told(std::string_view said) {
  ApiResponse response{303, "text/plain; charset=utf-8"};
  response.location = fmt::format("/told?said={}", said);
  return response;
}

ApiResponse done_or_problem(const Result<bool>& done, std::string_view said) {
  return done ? back_to_told(said) : problem(done.error());
}

ApiResponse no_phones() { return problem({Cause::not_found, "phones are told by the running daemon alone"}); }

}  // namespace

// The page says afterwards how it went, failed or not.
void act_test_alert(const Call& call, Respond respond) {
  const auto notifiers = call.site.notifiers();
  const bool there = std::any_of(notifiers.begin(), notifiers.end(),
                                 [&](const NotifierView& n) { return n.name == call.args[0]; });
  if (!there)
    return respond(
        problem_page(call, problem({Cause::not_found, "there is no notifier '" + call.args[0] + "'"})));
  call.site.test_alert(call.args[0], [respond](const Result<Json>&) { respond(back_to_told("tested")); });
}

ApiResponse act_add_phone(const Call& call) {
  PhoneDesk* desk = call.site.phone_desk();
  if (!desk) return no_phones();
  return done_or_problem(desk->add(call.args[0], {call.field("endpoint"), call.field("p256dh"),
                                                  call.field("auth"), call.field("label")}),
                         "phone_added");
}

ApiResponse act_remove_phone(const Call& call) {
  PhoneDesk* desk = call.site.phone_desk();
  return desk ? done_or_problem(desk->remove(call.args[0], call.args[1]), "phone_removed") : no_phones();
}

}  // namespace coilward
