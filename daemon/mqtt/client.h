// The daemon's connection to its broker: what arrives goes into the spool before it is acknowledged (QoS 1),
// what the site has to say goes out as it can. MQTT 3.1.1 or 5, a session that the broker keeps, subscribed
// again at every connect, an own thread for everything that may wait (name look-ups above all).
#pragma once

#include <chrono>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/clock.h"
#include "daemon/base/result.h"
#include "daemon/config/config.h"
#include "daemon/mqtt/spool.h"
#include "daemon/mqtt/trouble.h"

namespace coilward {

enum class Link : std::uint8_t { stopped, connecting, connected, waiting };
std::string_view link_name(Link link);  // "connected"

// What health, status and metrics show.
struct ClientStatus {
  Link link = Link::stopped;
  bool subscribed = false;          // the broker has confirmed every filter since the last connect
  Trouble trouble = Trouble::none;  // why the latest attempt failed; none while connected
  std::string detail;               // the same in one sentence, for people
  UtcTime since = kNever;           // link or trouble last changed
  UtcTime last_message = kNever;
  std::uint64_t messages = 0;  // handed to the spool
  std::uint64_t connects = 0;  // times connected since start
  std::uint64_t drops = 0;     // times a connection was lost
  // The broker ends our connections one after the other while the link is well: another client uses our id.
  bool id_contested = false;
  std::vector<std::string> refused_filters;  // the broker does not let us subscribe to
  std::size_t outgoing = 0;                  // reports waiting or not acknowledged
  std::uint64_t published = 0;               // reports that the broker has acknowledged
  std::uint64_t outgoing_dropped = 0;        // reports given up: too many waiting, or refused by the broker
};

struct ClientOptions {
  MqttConfig mqtt;
  std::string site;
  std::string version;               // of this program, for the status report
  std::vector<std::string> filters;  // topic filters to subscribe to
  int qos = 1;                       // of the subscriptions: 0 or 1
  bool keep_session = true;          // the broker keeps messages while we are away
  // Retained, `online` and, as the will, `offline`. Left out: PREFIX/SITE/report/status; empty: none.
  std::optional<std::string> status_topic;
  // Reconnecting: the first wait, growing by half each time to the longest. A broker that answers again is
  // found within `longest_delay` and the time that connecting takes.
  std::chrono::milliseconds first_delay = std::chrono::seconds(1);
  std::chrono::milliseconds longest_delay = std::chrono::seconds(30);
  std::chrono::seconds connect_timeout = std::chrono::seconds(10);
};

// Thread: any, none of the calls waits for the network (stop excepted). Handlers are called on threads of the
// client's own and must not wait.
class Client {
 public:
  // bad_config: the url cannot be used. Nothing is connected before start(). The spool lives at least until
  // the client is done, which may be after stop(): hence shared. `clock` outlives the process's last message.
  static Result<std::unique_ptr<Client>> create(ClientOptions options, std::shared_ptr<Spool> spool,
                                                const Clock& clock);
  // The same without a spool: `take` is called on Paho's thread with each message, before it is acknowledged.
  // It must not wait or throw, and what it holds must last as long as the spool would.
  using Take = std::function<void(const Message&)>;
  static Result<std::unique_ptr<Client>> create_taking(ClientOptions options, Take take, const Clock& clock);
  // Stops, if that was not done, with two seconds.
  ~Client();
  Client(const Client&) = delete;
  Client& operator=(const Client&) = delete;

  // Called after every change of link, trouble, subscribed or id_contested. Set before start().
  void on_change(std::function<void()> changed);

  // Connects, and connects again, until stopped. A file of credentials that is missing or readable by
  // everyone is a trouble that is tried again, like a broker that does not answer.
  void start();

  // Queues one message, QoS 1. Of a retained topic only the latest waiting payload is kept; when too many
  // wait, the oldest that is not retained goes and is counted.
  void publish(std::string_view topic, std::string_view payload, bool retained);

  // From now on messages are marked as having arrived at a time that is (not) to be relied on.
  void set_time_unsure(bool unsure);

  ClientStatus status() const;

  // Sends what waits, says `offline`, disconnects: at most `deadline`. False: a connection attempt or name
  // look-up could not be ended in time; its thread lives on, so leave the process with _exit, not by return
  // or exit().
  bool stop(std::chrono::milliseconds deadline = std::chrono::seconds(2));

 private:
  class Impl;
  explicit Client(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

// coilward-<site>-<8 hex digits from this machine's id>: the same at every start, another on another machine.
std::string default_client_id(std::string_view site);

// The site's status report. `since` is null in the will: only the broker knows when a connection broke.
std::string status_report(std::string_view state, std::string_view site, std::string_view version,
                          UtcTime since);

}  // namespace coilward
