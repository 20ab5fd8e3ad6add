#include "daemon/fleet/server/fleet_desk.h"

#include <fmt/format.h>

#include <charconv>
#include <nlohmann/json.hpp>

#include "daemon/base/mailbox.h"
#include "daemon/delivery/worker.h"
#include "daemon/fleet/server/fleet_pages.h"
#include "daemon/metrics_of.h"
#include "daemon/web/api_route.h"
#include "daemon/web/assets.h"
#include "daemon/web/form_guard.h"
#include "daemon/web/query.h"

namespace coilward {
namespace {

constexpr std::size_t kMostAsked = 128;  // more than there are connections
constexpr std::size_t kLongestName = 60, kLongestText = 60;

struct FleetRoute {
  const char *method, *pattern, *what;
};
constexpr FleetRoute kFleetRoutes[] = {
    {"GET", "/", "sites"},
    {"GET", "/site/{site}", "site"},
    {"POST", "/site/{site}/finding/{id}/acknowledge", "acknowledge"},
    {"GET", "/assets/{name}", "asset"},
    {"GET", "/app.webmanifest", "manifest"},
    {"GET", "/healthz", "healthz"},
    {"GET", "/metrics", "metrics"},
};

std::string query(const ApiRequest& request, const char* key) {
  const auto it = request.query.find(key);
  return it == request.query.end() ? std::string() : it->second;
}

Result<SiteFilter> filter_of(const ApiRequest& request) {
  SiteFilter filter;
  for (const auto& [key, value] : request.query)
    if (key != "show" && key != "find" && key != "page")
      return Error{Cause::bad_input,
                   fmt::format("'{}' is not known here: allowed are show, find, page", key)};
  constexpr std::pair<const char*, VisitNeed> kShow[] = {{"urgent", VisitNeed::urgent},
                                                         {"silent", VisitNeed::silent},
                                                         {"soon", VisitNeed::soon},
                                                         {"watch", VisitNeed::watch},
                                                         {"fine", VisitNeed::none}};
  const std::string show = query(request, "show");
  for (const auto& [word, need] : kShow)
    if (show == word) filter.need = need;
  if (!show.empty() && !filter.need)
    return Error{Cause::bad_input,
                 fmt::format("show: found '{}'; allowed are urgent, silent, soon, watch, fine", show)};
  filter.text = query(request, "find").substr(0, kLongestText);
  if (const std::string page = query(request, "page"); !page.empty()) {
    const auto number = parse_number(page, 1, 1'000'000, "page");
    if (!number) return number.error();
    filter.page = *number - 1;
  }
  return filter;
}

}  // namespace

class FleetDesk::Impl {
  // What is asked for, taken apart on the server's thread.
  struct FleetAsk {
    const char* what = nullptr;
    std::vector<std::string> args;
    ApiRequest request;
  };

 public:
  Impl(const FleetServerConfig& config, std::string password, const Clock& clock,
       std::function<IngestState()> state, Post post)
      : config_(config),
        password_(std::move(password)),
        clock_(clock),
        state_(std::move(state)),
        post_(std::move(post)),
        worker_([this] { return step(); }, [] {}) {}

  void handle(const ApiRequest& request, const Respond& respond) {
    const std::string_view method = request.method == "HEAD" ? "GET" : std::string_view(request.method);
    std::string allow;
    for (const FleetRoute& route : kFleetRoutes) {
      auto args = match_path(route.pattern, request.path);
      if (!args) continue;
      if (route.method == method) return take({route.what, std::move(*args), request}, respond);
      allow += (allow.empty() ? "" : ", ") + std::string(route.method);
    }
    ApiResponse response = allow.empty()
                               ? problem(404, "There is no such thing", "no such path: " + request.path)
                               : problem(405, "Method not allowed", "allowed here: " + allow);
    response.allow = allow;
    respond(fleet_problem_page(response, clock_.utc()));
  }

  bool stop(std::chrono::milliseconds limit) { return worker_.stop(limit); }

 private:
  // What needs no database is answered at once.
  void take(FleetAsk ask, const Respond& respond) {
    const std::string_view what = ask.what;
    if (what == "asset") return respond(asset_response(ask.args[0], !query(ask.request, "v").empty()));
    if (what == "manifest") return respond(manifest());
    if (what == "healthz") return respond(healthz());
    if (what == "metrics" && !config_.http.metrics)
      return respond(problem({Cause::not_found, "metrics are switched off in the configuration"}));
    waiting_.put({std::move(ask), respond});
    worker_.wake();
  }

  static ApiResponse manifest() {
    return {200, "application/manifest+json",
            R"({"name":"coilward, all sites","short_name":"Sites","start_url":"/","display":"standalone"})"};
  }

  ApiResponse healthz() const {
    const IngestState state = state_();
    Json json{{"ok", state.broker && state.database}, {"stages", Json::array()}};
    json["stages"].push_back(
        {{"name", "broker"}, {"ok", state.broker}, {"why", state.broker ? "" : state.broker_why}});
    json["stages"].push_back(
        {{"name", "database"}, {"ok", state.database}, {"why", state.database ? "" : state.database_why}});
    return json_response(json, state.broker && state.database ? 200 : 503);
  }

  // ---- the desk's own thread

  std::optional<Millis> step() {
    while (auto asked = waiting_.try_take()) {
      ApiResponse response = answer(asked->first);
      post_([respond = std::move(asked->second), response = std::move(response)]() mutable {
        respond(std::move(response));
      });
    }
    return std::nullopt;
  }

  ApiResponse answer(const FleetAsk& ask) {
    auto made = open() ? make(ask) : Result<ApiResponse>(Error{Cause::world, "the database does not answer"});
    if (made) return std::move(*made);
    const ApiResponse response = problem(made.error());
    return std::string_view(ask.what) == "metrics" ? response : fleet_problem_page(response, clock_.utc());
  }

  bool open() {
    if (views_ && !views_->broken()) return true;
    views_.reset();
    auto database = Postgres::connect(config_.database, password_);
    if (!database) return false;
    views_.emplace(std::move(*database), config_.silent_h);
    return true;
  }

  Result<ApiResponse> make(const FleetAsk& ask) {
    const std::string_view what = ask.what;
    if (what == "sites") return list(ask);
    if (what == "site") return site(ask);
    return what == "acknowledge" ? acknowledge(ask) : metrics();
  }

  Result<ApiResponse> list(const FleetAsk& ask) {
    const auto filter = filter_of(ask.request);
    if (!filter) return filter.error();
    const auto list = views_->sites(*filter);
    if (!list) return list.error();
    return sites_page(*list, *filter, clock_.utc());
  }

  Result<ApiResponse> site(const FleetAsk& ask) {
    const auto detail = views_->site(ask.args[0]);
    if (!detail) return detail.error();
    return site_page(*detail, clock_.utc(), token_, query(ask.request, "said"));
  }

  Result<ApiResponse> acknowledge(const FleetAsk& ask) {
    auto form = parse_form(ask.request.body);
    if (!form) return form.error();
    if (!same_token((*form)["token"], token_))
      return problem(403, "Not done",
                     "the form is from before a restart, or not from this page: open the page again");
    const auto done = views_->acknowledge(ask.args[0], ask.args[1], (*form)["by"].substr(0, kLongestName));
    if (!done) return done.error();
    ApiResponse response{303, "text/plain"};
    response.location = "/site/" + percent_encoded(ask.args[0]) + "?said=acknowledged";
    return response;
  }

  Result<ApiResponse> metrics() {
    const auto totals = views_->totals();
    if (!totals) return totals.error();
    const IngestState s = state_();
    std::vector<Metric> list;
    add_gauge(list, "coilward_fleet_sites", "Sites that ever sent something.", double(totals->sites));
    add_gauge(list, "coilward_fleet_sites_online", "Sites that are connected.", double(totals->online));
    add_gauge(list, "coilward_fleet_findings_open", "Open findings of all sites.",
              double(totals->open_findings));
    add_counter(list, "coilward_fleet_messages_new", "Messages written by this worker.",
                double(s.counts.fresh));
    add_counter(list, "coilward_fleet_messages_again", "Messages that were there before.",
                double(s.counts.again));
    add_counter(list, "coilward_fleet_messages_refused", "Messages whose content the database refused.",
                double(s.counts.refused));
    add_counter(list, "coilward_fleet_messages_unreadable", "Messages that could not be read.",
                double(s.unreadable));
    add_counter(list, "coilward_fleet_messages_dropped",
                "Messages for which there was no room; they come again.", double(s.dropped));
    add_counter(list, "coilward_fleet_batches", "Transactions.", double(s.batches));
    add_gauge(list, "coilward_fleet_messages_waiting", "Messages not written yet.", double(s.waiting));
    return metrics_response(list);
  }

  const FleetServerConfig config_;
  const std::string password_;
  const Clock& clock_;
  const std::function<IngestState()> state_;
  const Post post_;
  const std::string token_ = make_form_token();
  Mailbox<std::pair<FleetAsk, Respond>> waiting_{kMostAsked};
  std::optional<FleetViews> views_;
  Worker worker_;  // last: it uses the others
};

FleetDesk::FleetDesk(const FleetServerConfig& config, std::string password, const Clock& clock,
                     std::function<IngestState()> state, Post post)
    : impl_(std::make_unique<Impl>(config, std::move(password), clock, std::move(state), std::move(post))) {}
FleetDesk::~FleetDesk() = default;
void FleetDesk::handle(const ApiRequest& request, Respond respond) { impl_->handle(request, respond); }
bool FleetDesk::stop(std::chrono::milliseconds limit) { return impl_->stop(limit); }

}  // namespace coilward
