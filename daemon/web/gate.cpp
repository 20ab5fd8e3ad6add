#include "daemon/web/gate.h"

#include <algorithm>

#include "daemon/login/logins.h"
#include "daemon/login/secret.h"
#include "daemon/web/api_route.h"
#include "daemon/web/cookies.h"
#include "daemon/web/http_request.h"
#include "daemon/web/page_frame.h"
#include "daemon/web/query.h"

namespace coilward {
namespace {

constexpr std::size_t kLongestReturn = 500;
constexpr std::string_view kBearer = "Bearer ";

std::string link_secret(const Asker& asker) {
  if (asker.authorization.starts_with(kBearer)) return asker.authorization.substr(kBearer.size());
  return cookie_value(asker.cookies, kLinkCookie, asker.secure);
}

Visitor visitor_by_secret(const Asker& asker, Logins& logins) {
  const std::string session = cookie_value(asker.cookies, kSessionCookie, asker.secure);
  if (const Person* person = session.empty() ? nullptr : logins.session(session))
    return {person->role == Role::technician ? VisitorKind::technician : VisitorKind::homeowner, person->name,
            session};
  const std::string link = link_secret(asker);
  const ShareLink* share = link.empty() ? nullptr : logins.share(link);
  return share ? Visitor{VisitorKind::link, {}, {}, share->until} : Visitor{VisitorKind::stranger};
}

ApiResponse must_log_in(const RouteEntry& route, const Call& call) {
  if (route.face == Face::page) {
    ApiResponse response{303, "text/plain; charset=utf-8"};
    response.location = login_path(call.request);
    return response;
  }
  ApiResponse response = problem(401, "Log in first", "this needs a login, or a read-only link as a bearer");
  response.fields.emplace_back("WWW-Authenticate", "Bearer realm=\"coilward\"");
  return response;
}

std::string_view refusal_words(VisitorKind kind, Need need) {
  if (need == Need::local)
    return "this is for users of the machine itself: use `coilward`, which uses the Unix socket";
  if (need == Need::person) return "nobody is logged in here";
  return kind == VisitorKind::link ? "a read-only link shows the site and changes nothing: log in for this"
                                   : "this is for technicians: ask one of the site";
}

}  // namespace

bool may(VisitorKind kind, Need need) {
  using enum VisitorKind;
  switch (need) {
    case Need::open:
      return true;
    case Need::read:
      return kind != stranger;
    case Need::acknowledge:
      return kind != stranger && kind != link;
    case Need::technician:
      return kind == technician || kind == unguarded || kind == local;
    case Need::person:
      return kind == homeowner || kind == technician;
    case Need::local:
      return kind == local;
  }
  return false;
}

bool Visitor::may(Need need) const { return coilward::may(kind, need); }

Passage passage(VisitorKind kind, Need need) {
  if (may(kind, need)) return Passage::enter;
  return kind == VisitorKind::stranger ? Passage::log_in : Passage::refuse;
}

// A file of people that cannot be read is not "nobody": then nothing is open.
Visitor visitor_of(const Asker& asker, Logins* logins) {
  if (asker.local) return {VisitorKind::local};
  if (!logins) return {VisitorKind::unguarded};
  if (logins->anybody()) return visitor_by_secret(asker, *logins);
  const bool unguarded = logins->damaged().empty() && is_loopback_address(asker.address);
  return {unguarded ? VisitorKind::unguarded : VisitorKind::stranger};
}

std::string form_token(const Visitor& visitor, std::string_view of_process) {
  return visitor.is_person() ? derived_secret(visitor.secret, "forms") : std::string(of_process);
}

std::string acting(const Visitor& visitor, const std::string& given) {
  return visitor.is_person() ? visitor.name : given;
}

bool is_local_path(std::string_view path) {
  const auto plain = [](char c) { return c > ' ' && c < 0x7F && c != '\\' && c != '"' && c != '<'; };
  return path.starts_with('/') && !path.starts_with("//") && path.size() <= kLongestReturn &&
         std::all_of(path.begin(), path.end(), plain);
}

std::string login_path(const ApiRequest& request) {
  const std::string back = request_target(request);
  const bool there = (request.method == "GET" || request.method == "HEAD") && back != "/";
  return there && is_local_path(back) ? "/login?next=" + percent_encoded(back) : "/login";
}

std::optional<ApiResponse> turned_away(const RouteEntry& route, const Call& call) {
  switch (passage(call.visitor.kind, route.need)) {
    case Passage::enter:
      return std::nullopt;
    case Passage::log_in:
      return must_log_in(route, call);
    case Passage::refuse:
      break;
  }
  const ApiResponse refusal = problem(403, "Not for you", refusal_words(call.visitor.kind, route.need));
  return route.face == Face::page ? problem_page(call, refusal) : refusal;
}

}  // namespace coilward
