#include "daemon/fleet/server/fleet_clerk.h"

#include "daemon/base/mailbox.h"
#include "daemon/delivery/worker.h"
#include "daemon/fleet/server/fleet_frame.h"
#include "daemon/fleet/server/migrations.h"

namespace coilward {
namespace {

constexpr std::size_t kMostAsked = 128;  // more than there are connections

}  // namespace

ApiResponse fleet_answer(const FleetRoute& route, FleetCall& call) {
  auto away = turned_away_from(route, call);
  auto made = away ? Result<ApiResponse>(std::move(*away)) : route.answer(call);
  ApiResponse response = made ? std::move(*made) : problem(made.error());
  const bool of_programs = response.content_type == "application/problem+json";
  return of_programs && route.page ? fleet_problem_page(call, response) : response;
}

class FleetClerk::Impl {
 public:
  Impl(FleetPlace place, const FleetServerConfig& config, std::string password, const FleetFacts& facts,
       Post post)
      : place_(place),
        config_(config),
        password_(std::move(password)),
        facts_(facts),
        post_(std::move(post)),
        worker_([this] { return step(); }, [] {}) {}

  void give(FleetAsk ask) {
    waiting_.put(std::move(ask));
    worker_.wake();
  }
  bool stop(std::chrono::milliseconds limit) { return worker_.stop(limit); }

 private:
  std::optional<Millis> step() {
    while (auto asked = waiting_.try_take()) {
      ApiResponse response = answer(*asked);
      post_([respond = std::move(asked->respond), response = std::move(response)]() mutable {
        respond(std::move(response));
      });
    }
    return std::nullopt;
  }

  ApiResponse answer(const FleetAsk& ask) {
    FleetCall call{ask.request, ask.found.args, facts_, facts_.clock.utc()};
    auto visitor = visitor_of_ask(ask.request);
    if (!visitor) {
      const ApiResponse failed = problem(visitor.error());
      return ask.found.route->page ? fleet_problem_page(call, failed) : failed;
    }
    call.visitor = std::move(*visitor);
    call.views = views_ ? &*views_ : nullptr;
    call.door = door_ ? &*door_ : nullptr;
    return fleet_answer(*ask.found.route, call);
  }

  // A stranger is not told what is wrong with the database.
  Result<FleetVisitor> visitor_of_ask(const ApiRequest& request) {
    const Error silent{Cause::world, "the database does not answer"};
    if (!open()) return silent;
    auto visitor =
        fleet_visitor(place_ == FleetPlace::door ? door_->database() : views_->database(), request.asker);
    return visitor ? std::move(visitor) : Result<FleetVisitor>(silent);
  }

  // The door keeps count of attempts across connections.
  bool open() {
    const bool door = place_ == FleetPlace::door;
    if (door ? door_ && !door_->database().broken() : views_ && !views_->database().broken()) return true;
    views_.reset();
    auto database = Postgres::connect(config_.database, password_, door ? kDoorRole : kPageRole);
    if (!database) return false;
    if (door && door_)
      door_->connect(std::move(*database));
    else if (door)
      door_.emplace(std::move(*database), facts_.clock);
    else
      views_.emplace(std::move(*database), config_.silent_h);
    return true;
  }

  const FleetPlace place_;
  const FleetServerConfig config_;
  const std::string password_;
  const FleetFacts& facts_;
  const Post post_;
  Mailbox<FleetAsk> waiting_{kMostAsked};
  std::optional<FleetViews> views_;
  std::optional<FleetDoor> door_;
  Worker worker_;  // last: it uses the others
};

FleetClerk::FleetClerk(FleetPlace place, const FleetServerConfig& config, std::string password,
                       const FleetFacts& facts, Post post)
    : impl_(std::make_unique<Impl>(place, config, std::move(password), facts, std::move(post))) {}
FleetClerk::~FleetClerk() = default;
void FleetClerk::give(FleetAsk ask) { impl_->give(std::move(ask)); }
bool FleetClerk::stop(std::chrono::milliseconds limit) { return impl_->stop(limit); }

}  // namespace coilward
