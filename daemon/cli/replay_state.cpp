#include "daemon/cli/replay_state.h"

#include <nlohmann/json.hpp>

#include "daemon/web/site_snapshot.h"

namespace coilward {
namespace {

// Readings in memory before a commit: some megabytes, and some hours of a site.
constexpr std::size_t kReadingsAtOnce = 200'000;

}  // namespace

Result<std::unique_ptr<ReplayState>> ReplayState::open(const std::string& directory, SiteStages& stages) {
  auto locked = StateDirectory::lock(directory);
  if (!locked) return locked.error();
  const Config& config = stages.config();
  auto history = HistoryStore::open(locked->history(), ChannelNames(config));
  if (!history) return history.error();
  auto state = StateStore::open(locked->state(), config.site.id);
  if (!state) return state.error();
  std::unique_ptr<ReplayState> replay(
      new ReplayState(std::move(*locked), std::move(*history), std::move(*state), stages));
  const auto restored = replay->restore();
  if (!restored) return restored.error();
  return replay;
}

ReplayState::ReplayState(StateDirectory directory, HistoryStore history, StateStore state, SiteStages& stages)
    : directory_(std::move(directory)),
      history_(std::move(history)),
      state_(std::move(state)),
      stages_(stages),
      book_(stages.config()) {}

Result<bool> ReplayState::restore() {
  const auto snapshot = state_.snapshot();
  if (!snapshot) return snapshot.error();
  if (snapshot->json.empty()) return true;
  const auto parts = read_site_snapshot(snapshot->json);
  if (!parts) return parts.error();
  went_on_ = true;
  taken_ = snapshot->taken;
  mark_ = snapshot->mark;
  notices_ = parts->notices;
  routes_ = parts->routes;
  if (!parts->alerts.is_null())
    if (const auto book = book_.restore(parts->alerts); !book) return book.error();
  return stages_.restore(*parts);
}

void ReplayState::finding(const Finding& finding, UtcTime now) {
  findings_.push_back(finding);
  book_.finding(finding, now);
  (void)book_.advance(now);  // what would have been told is in the book; nobody is told of the past
}

Result<bool> ReplayState::settle(UtcTime now) {
  if (readings_.size() < kReadingsAtOnce) return true;
  const auto history = commit_history(now);
  return history ? commit_state(now, false) : history;
}

Result<bool> ReplayState::finish(UtcTime now) {
  (void)book_.advance(now);
  const auto history = commit_history(now);
  return history ? commit_state(now, true) : history;
}

Result<bool> ReplayState::commit_history(UtcTime now) {
  const auto kept = history_.commit({readings_, runs_, {}});
  if (!kept) return kept;
  readings_.clear();
  runs_.clear();
  for (;;) {
    const auto more = history_.tidy(now, stages_.config().history.raw_days);
    if (!more || !*more) return more ? Result<bool>(true) : more;
  }
}

Result<bool> ReplayState::commit_state(UtcTime now, bool with_snapshot) {
  std::vector<NormalDraw> draws;
  StateBatch batch;
  batch.now = now;
  batch.findings = findings_;
  if (with_snapshot) {
    for (const ZoneState& zone : stages_.pipeline().zones()) draws.push_back(zone.normal);
    batch.snapshot = site_snapshot_text(
        {stages_.pipeline().save(), book_.save(), stages_.intake().save(), notices_, routes_});
    batch.mark = mark_;
    batch.draws = draws;
  }
  const auto kept = state_.commit(batch);
  if (kept) findings_.clear();
  return kept;
}

}  // namespace coilward
