#include "daemon/mqtt/outgoing.h"

#include <algorithm>

namespace coilward {

void OutgoingQueue::put(Outgoing message) {
  if (message.retained) {
    if (const auto found = retained_.find(message.topic); found != retained_.end()) {
      found->second->payload = std::move(message.payload);
      return;
    }
  }
  if (waiting_.size() >= most_) drop_one();
  waiting_.push_back(std::move(message));
  if (waiting_.back().retained) retained_[waiting_.back().topic] = std::prev(waiting_.end());
}

void OutgoingQueue::put_back(Outgoing message) {
  if (message.retained && retained_.contains(message.topic)) return;
  waiting_.push_front(std::move(message));
  if (waiting_.front().retained) retained_[waiting_.front().topic] = waiting_.begin();
}

std::optional<Outgoing> OutgoingQueue::take() {
  if (waiting_.empty()) return std::nullopt;
  Outgoing message = std::move(waiting_.front());
  if (message.retained) retained_.erase(message.topic);
  waiting_.pop_front();
  return message;
}

// The oldest that nobody will find at the broker later anyway; if all are retained, the oldest.
void OutgoingQueue::drop_one() {
  const auto passing = std::ranges::find_if(waiting_, [](const Outgoing& m) { return !m.retained; });
  erase(passing != waiting_.end() ? passing : waiting_.begin());
  ++dropped_;
}

void OutgoingQueue::erase(std::list<Outgoing>::iterator at) {
  if (at->retained) retained_.erase(at->topic);
  waiting_.erase(at);
}

}  // namespace coilward
