// Spool and client together: what the broker delivers is read from here, what the site reports goes out
// through here.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "daemon/base/clock.h"
#include "daemon/base/result.h"
#include "daemon/config/config.h"
#include "daemon/pipeline.h"

namespace coilward {

struct Metric;

struct BrokerState {
  bool connected = false;
  bool heard_lately = false;  // a message within ten minutes
  bool id_contested = false;  // another client uses our id
  std::string refused;        // topics that the broker does not let us subscribe to
  std::string why;            // when not connected, or not as it should be
  UtcTime since = kNever;
};

// Thread: the core's, except where said.
class BrokerLink {
 public:
  // first_sequence: the spool's numbers start there at least. Errors as Spool::open and Client::create.
  static Result<std::unique_ptr<BrokerLink>> open(const Config& config, const std::string& version,
                                                  std::vector<std::string> filters,
                                                  std::uint64_t first_sequence, const Clock& clock);
  ~BrokerLink();

  void on_arrival(std::function<void()> wake);    // called on the client's thread
  void on_change(std::function<void()> changed);  // called on the client's thread
  void start();

  std::size_t read(std::uint64_t after, std::size_t at_most,
                   const std::function<void(const Message&)>& visit);
  std::uint64_t newly_lost();  // messages the spool had no room for, since last asked
  std::uint64_t lost() const;  // so far
  void trim(std::uint64_t sequence);
  void publish(const std::string& topic, const std::string& payload, bool retained);
  void set_time_unsure(bool unsure);
  bool time_unsure() const { return time_unsure_; }
  BrokerState state() const;
  void add_metrics(std::vector<Metric>& list) const;
  // false: a thread could not be ended in time.
  bool stop(std::chrono::milliseconds limit);

 private:
  class Parts;
  explicit BrokerLink(std::unique_ptr<Parts> parts);
  std::unique_ptr<Parts> parts_;
  std::uint64_t lost_ = 0;
  bool time_unsure_ = false;
};

}  // namespace coilward
