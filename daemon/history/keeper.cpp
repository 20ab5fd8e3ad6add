#include "daemon/history/keeper.h"

#include <algorithm>
#include <condition_variable>
#include <mutex>
#include <thread>
#include <utility>

#include "daemon/history/keeper_disk.h"

namespace coilward {
namespace {

using Steady = std::chrono::steady_clock;
constexpr std::chrono::milliseconds kLongestRetry{60'000};

}  // namespace

class Keeper::Impl {
 public:
  Impl(KeeperOptions options, KeeperEvents events, const Clock& clock, std::unique_ptr<KeeperDisk> disk)
      : options_(std::move(options)), events_(std::move(events)), clock_(clock), disk_(std::move(disk)) {
    marks_ = disk_->marks();
    snapshot_ = disk_->snapshot();
    retry_after_ = options_.first_retry;
    health_.repairs = disk_->repairs();
    thread_ = std::thread([this] { run(); });
  }

  void post(CommitUnit unit) {
    {
      std::lock_guard lock(mutex_);
      urgent_ = urgent_ || !unit.outbox.empty();
      incoming_.add(std::move(unit), most_readings());
      ++posted_;
    }
    wake_.notify_one();
  }

  bool flush(std::chrono::milliseconds limit) {
    std::unique_lock lock(mutex_);
    const auto ticket = posted_;
    urgent_ = true;
    wake_.notify_one();
    return done_.wait_for(lock, limit, [&] { return committed_ >= ticket; });
  }

  bool stop(std::chrono::milliseconds limit) {
    {
      std::lock_guard lock(mutex_);
      if (!stopping_) stop_at_ = Steady::now() + limit;
      stopping_ = true;
    }
    wake_.notify_one();
    if (thread_.joinable()) thread_.join();
    std::lock_guard lock(mutex_);
    return committed_ == posted_;
  }

  KeeperHealth health() const {
    std::lock_guard lock(mutex_);
    auto health = health_;
    health.waiting_readings = work_.unit.readings.size() + incoming_.unit.readings.size();
    health.dropped_readings += incoming_.dropped;
    return health;
  }

  std::vector<Reading> waiting(Channel channel) const {
    std::vector<Reading> found;
    std::lock_guard lock(mutex_);
    for (const auto* work : {&work_, &incoming_})
      std::copy_if(work->unit.readings.begin(), work->unit.readings.end(), std::back_inserter(found),
                   [&](const Reading& reading) { return reading.channel == channel; });
    return found;
  }

  KeeperMarks marks_;
  Snapshot snapshot_;

 private:
  std::size_t most_readings() const {
    return std::max<std::size_t>(1, options_.most_waiting_bytes / sizeof(Reading));
  }

  void run() {
    while (wait_for_work()) {
      take_incoming();
      const auto now = clock_.utc();
      const auto outcome = commit(now);
      report(outcome, now);
      if (outcome.ok()) tidy(now);
    }
  }

  // false: it is time to end.
  bool wait_for_work() {
    std::unique_lock lock(mutex_);
    if (failing_)
      wake_.wait_until(lock, retry_at_, [this] { return stopping_ || urgent_; });
    else
      wake_.wait(lock, [this] { return stopping_ || committed_ != posted_; });
    urgent_ = false;
    if (!stopping_) return true;
    return committed_ != posted_ && may_try_again(lock);
  }

  // While stopping: one attempt at once, then at short intervals until the limit.
  bool may_try_again(std::unique_lock<std::mutex>& lock) {
    if (!std::exchange(tried_while_stopping_, true)) return true;
    const auto next = Steady::now() + std::chrono::milliseconds{100};
    if (next > stop_at_) return false;
    wake_.wait_until(lock, next, [] { return false; });
    return true;
  }

  void take_incoming() {
    std::lock_guard lock(mutex_);
    work_.add(std::move(incoming_), most_readings());
    incoming_ = {};
    taken_ = posted_;
    health_.dropped_readings += std::exchange(work_.dropped, 0);
  }

  // Without the lock while the disk works: nobody else changes work_, and waiting() sees its readings until
  // they are stored.
  KeeperDisk::Outcome commit(UtcTime now) {
    const auto outcome = disk_->commit(work_, now);
    std::lock_guard lock(mutex_);
    work_.forget(outcome.written);
    if (outcome.ok()) committed_ = taken_;
    return outcome;
  }

  void report(const KeeperDisk::Outcome& outcome, UtcTime now) {
    schedule(outcome.ok());
    note_commit(outcome, now);
    note_health(outcome);
    if (outcome.ok()) done_.notify_all();
    if (outcome.complete && events_.on_complete) events_.on_complete(*outcome.complete);
    if (outcome.outbox_written && events_.on_outbox) events_.on_outbox();
    if (outcome.state) tell_unsaved();
  }

  void schedule(bool ok) {
    std::lock_guard lock(mutex_);
    failing_ = !ok;
    if (ok) {
      retry_after_ = options_.first_retry;
      return;
    }
    retry_at_ = Steady::now() + retry_after_;
    retry_after_ = std::min(kLongestRetry, 2 * retry_after_);
  }

  void note_commit(const KeeperDisk::Outcome& outcome, UtcTime now) {
    if (!outcome.ok()) return;
    std::lock_guard lock(mutex_);
    health_.last_commit = now;
    ++health_.commits;
  }

  void note_health(const KeeperDisk::Outcome& outcome) {
    const auto& error = outcome.state ? outcome.state : outcome.history;
    KeeperHealth told;
    bool changed = false;
    {
      std::lock_guard lock(mutex_);
      health_.history = disk_->counts();
      changed = health_.repairs.size() != disk_->repairs().size();
      health_.repairs = disk_->repairs();
      changed = changed || health_.history_ok != !outcome.history || health_.state_ok != !outcome.state;
      health_.history_ok = !outcome.history;
      health_.state_ok = !outcome.state;
      if (health_.trouble.empty() != !error) health_.since = error ? clock_.utc() : kNever;
      health_.trouble = error ? error->what : "";
      told = health_;
    }
    if (changed && events_.on_health) events_.on_health(told);
  }

  void tell_unsaved() {
    std::vector<OutboxRow> rows;
    {
      std::lock_guard lock(mutex_);
      const auto& all = work_.unit.outbox;
      rows.assign(all.begin() + static_cast<std::ptrdiff_t>(std::min(work_.told_outbox, all.size())),
                  all.end());
      work_.told_outbox = all.size();
    }
    if (!rows.empty() && events_.on_outbox_unsaved) events_.on_outbox_unsaved(rows);
  }

  // Upkeep gives way to whatever was posted meanwhile.
  void tidy(UtcTime now) {
    const auto idle = [this] {
      std::lock_guard lock(mutex_);
      return !stopping_ && committed_ == posted_;
    };
    while (idle() && disk_->tidy(now)) {
    }
    KeeperHealth told;
    bool repaired = false;
    {
      std::lock_guard lock(mutex_);
      health_.history = disk_->counts();
      repaired = health_.repairs.size() != disk_->repairs().size();
      health_.repairs = disk_->repairs();
      told = health_;
    }
    if (repaired && events_.on_health) events_.on_health(told);
  }

  const KeeperOptions options_;
  const KeeperEvents events_;
  const Clock& clock_;
  const std::unique_ptr<KeeperDisk> disk_;  // keeper's thread only, once that runs

  mutable std::mutex mutex_;
  std::condition_variable wake_, done_;
  KeeperWork incoming_;  // posted, not taken yet
  KeeperWork work_;      // changed by the keeper's thread only, under the lock
  std::uint64_t posted_ = 0, taken_ = 0, committed_ = 0;
  bool urgent_ = false, failing_ = false, stopping_ = false, tried_while_stopping_ = false;
  std::chrono::milliseconds retry_after_{0};
  Steady::time_point retry_at_, stop_at_;
  KeeperHealth health_;
  std::thread thread_;
};

Keeper::Keeper(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
Keeper::~Keeper() { stop(std::chrono::milliseconds{0}); }

Result<std::unique_ptr<Keeper>> Keeper::start(KeeperOptions options, KeeperEvents events,
                                              const Clock& clock) {
  auto disk = KeeperDisk::open(options);
  if (!disk) return disk.error();
  return std::unique_ptr<Keeper>(
      new Keeper(std::make_unique<Impl>(std::move(options), std::move(events), clock, std::move(*disk))));
}

KeeperMarks Keeper::marks() const { return impl_->marks_; }
const Snapshot& Keeper::snapshot() const { return impl_->snapshot_; }
void Keeper::post(CommitUnit unit) { impl_->post(std::move(unit)); }
bool Keeper::flush(std::chrono::milliseconds limit) { return impl_->flush(limit); }
bool Keeper::stop(std::chrono::milliseconds limit) { return impl_->stop(limit); }
KeeperHealth Keeper::health() const { return impl_->health(); }
std::vector<Reading> Keeper::waiting(Channel channel) const { return impl_->waiting(channel); }

}  // namespace coilward
