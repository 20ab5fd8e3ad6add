// Messages that wait to be published: bounded, and of each retained topic only the latest.
#pragma once

#include <cstdint>
#include <list>
#include <optional>
#include <string>
#include <unordered_map>

namespace coilward {

struct Outgoing {
  std::string topic;
  std::string payload;
  bool retained = false;
};

// Thread: none of its own.
class OutgoingQueue {
 public:
  // most: messages waiting at most. A site has about three hundred retained topics at the utmost.
  explicit OutgoingQueue(std::size_t most = 2000) : most_(most) {}

  // A retained message takes the place of one that waits for the same topic.
  void put(Outgoing message);
  // One that was taken and could not be sent: first again, unless a newer one for its retained topic waits.
  void put_back(Outgoing message);
  std::optional<Outgoing> take();

  std::size_t size() const { return waiting_.size(); }
  bool empty() const { return waiting_.empty(); }
  std::uint64_t dropped() const { return dropped_; }

 private:
  void drop_one();
  void erase(std::list<Outgoing>::iterator at);

  std::size_t most_;
  std::uint64_t dropped_ = 0;
  std::list<Outgoing> waiting_;
  std::unordered_map<std::string, std::list<Outgoing>::iterator> retained_;  // by topic
};

}  // namespace coilward
