#include "daemon/delivery/spare_outbox.h"

#include <algorithm>

namespace coilward {

void SpareOutbox::put(WaitingAlert alert) {
  std::lock_guard lock(mutex_);
  if (known(alert.alert)) return;
  if (spares_.size() >= kMostSpare) {
    spares_.pop_front();
    ++dropped_;
  }
  alert.row = --last_row_;
  alert.attempts = 0;
  const UtcTime next = alert.queued;
  spares_.push_back({std::move(alert), next});
}

std::uint64_t SpareOutbox::dropped() const {
  std::lock_guard lock(mutex_);
  return dropped_;
}

bool SpareOutbox::known(const std::string& alert) const {
  return std::find(delivered_.begin(), delivered_.end(), alert) != delivered_.end() ||
         std::any_of(spares_.begin(), spares_.end(),
                     [&](const Spare& spare) { return spare.alert.alert == alert; });
}

std::optional<WaitingAlert> SpareOutbox::next_spare(UtcTime now) {
  std::lock_guard lock(mutex_);
  for (const auto& spare : spares_)
    if (spare.next <= now) return spare.alert;
  return std::nullopt;
}

Result<std::optional<WaitingAlert>> SpareOutbox::next(UtcTime now) {
  if (auto spare = next_spare(now)) return spare;
  if (!settle(now)) return std::optional<WaitingAlert>();
  for (;;) {
    auto item = table_->next(now);
    if (!item || !*item) return item;
    {
      std::lock_guard lock(mutex_);
      if (!known((*item)->alert)) return item;
      std::erase_if(spares_, [&](const Spare& spare) { return spare.alert.alert == (*item)->alert; });
      if (std::find(delivered_.begin(), delivered_.end(), (*item)->alert) == delivered_.end()) return item;
    }
    const auto marked = table_->done((*item)->row, now, "delivered from memory");
    if (!marked) return marked.error();
  }
}

// Writes what the table did not take. The rows concerned stand at its head: nothing is read past them.
bool SpareOutbox::settle(UtcTime now) {
  if (unmarked_.empty()) return true;
  if (mark_again_ != kNever && now < mark_again_ && mark_again_ - now <= kMarkAgain) return false;
  while (!unmarked_.empty()) {
    if (!write(unmarked_.front())) {
      mark_again_ = now + kMarkAgain;
      return false;
    }
    unmarked_.pop_front();
  }
  mark_again_ = kNever;
  return true;
}

Result<UtcTime> SpareOutbox::next_time() {
  UtcTime first = kNever;
  {
    std::lock_guard lock(mutex_);
    for (const auto& spare : spares_)
      if (first == kNever || spare.next < first) first = spare.next;
  }
  const auto earlier = [&first](UtcTime time) {
    return time == kNever ? first : first == kNever ? time : std::min(first, time);
  };
  if (!unmarked_.empty()) return earlier(mark_again_);
  const auto table = table_->next_time();
  if (!table && first == kNever) return table;
  return table ? earlier(*table) : first;
}

Result<bool> SpareOutbox::write(const Unmarked& m) {
  switch (m.mark) {
    case Mark::done:
      return table_->done(m.row, m.time, m.words);
    case Mark::refused:
      return table_->refused(m.row, m.time, m.words);
    case Mark::give_up:
      return table_->give_up(m.row, m.time, m.words);
    case Mark::retry:
      return table_->retry(m.row, m.time, m.words);
  }
  return true;
}

Result<bool> SpareOutbox::end(const Unmarked& mark, UtcTime now) {
  if (mark.row >= 0) {
    auto written = write(mark);
    if (!written) {
      unmarked_.push_back(mark);
      mark_again_ = now + kMarkAgain;
    }
    return written;
  }
  std::lock_guard lock(mutex_);
  const auto at = std::find_if(spares_.begin(), spares_.end(),
                               [&](const Spare& spare) { return spare.alert.row == mark.row; });
  if (at == spares_.end()) return true;
  delivered_.push_back(at->alert.alert);
  if (delivered_.size() > kMostRemembered) delivered_.pop_front();
  spares_.erase(at);
  return true;
}

Result<bool> SpareOutbox::done(std::int64_t row, UtcTime now, const std::string& words) {
  return end({row, Mark::done, now, words}, now);
}

Result<bool> SpareOutbox::refused(std::int64_t row, UtcTime now, const std::string& words) {
  return end({row, Mark::refused, now, words}, now);
}

Result<bool> SpareOutbox::give_up(std::int64_t row, UtcTime now, const std::string& words) {
  return end({row, Mark::give_up, now, words}, now);
}

Result<bool> SpareOutbox::retry(std::int64_t row, UtcTime next, const std::string& words) {
  if (row >= 0) return end({row, Mark::retry, next, words}, next);
  std::lock_guard lock(mutex_);
  for (auto& spare : spares_)
    if (spare.alert.row == row) {
      spare.next = next;
      ++spare.alert.attempts;
    }
  return true;
}

}  // namespace coilward
