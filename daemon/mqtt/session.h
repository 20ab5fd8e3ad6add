// The client's own thread: connects, subscribes, publishes, waits and connects again. Internal to Client.
#pragma once

#include <atomic>
#include <condition_variable>
#include <deque>
#include <map>
#include <memory>
#include <mutex>
#include <optional>

#include "daemon/mqtt/client.h"
#include "daemon/mqtt/link_witness.h"
#include "daemon/mqtt/outgoing.h"
#include "daemon/mqtt/paho_link.h"
#include "daemon/mqtt/reconnect_delay.h"

namespace coilward {

struct PahoOptions;

// Lives as long as its thread, which may be longer than Client. Everything that a caller needs is behind
// mutex_, which is never held while Paho is called: callers never wait for the network, and Paho's callbacks,
// which come under Paho's lock, can take it.
class Session {
 public:
  using Steady = std::chrono::steady_clock;

  Session(ClientOptions options, BrokerAddress address, Client::Take take, const Clock& clock);

  void run();  // the thread's whole life

  // Thread: any.
  void on_change(std::function<void()> changed);  // empty: nobody listens any more; waits for a running call
  void publish(Outgoing message);
  void request_stop(Steady::time_point deadline);
  bool wait_ended(Steady::time_point deadline);  // true: run() has returned, or is about to
  void set_time_unsure(bool unsure) { time_unsure_ = unsure; }
  ClientStatus status() const;

 private:
  // On Paho's thread.
  void keep(const mqtt::message& message) noexcept;
  void tell(LinkEvent event) noexcept;

  // On run()'s thread.
  bool connect_and_wait();
  bool begin_connect();
  void serve();
  void subscribe_all();
  void announce(std::string_view state);
  void confirm(const LinkEvent& event);
  void send_waiting();
  void send(Outgoing message);
  void send_again_what_is_overdue();
  void put_back(std::map<std::intptr_t, Outgoing>::iterator in_flight);
  std::optional<Outgoing> take_outgoing();
  void handle(const LinkEvent& event);
  void settle(const LinkEvent& event);
  void note_connected();
  void note_failed(int code);
  void note_settled_in();
  void note_lost(int code);
  void note_short(std::chrono::milliseconds lasted);
  void note_contested(int code);
  void set_trouble(Link link, Diagnosed diagnosed);
  void pause_before_next();
  void say_goodbye();
  void end();
  Outgoing status_message(std::string_view state) const;
  PahoOptions paho_options();

  std::optional<LinkEvent> next_event(Steady::time_point until, bool watch_outgoing);
  bool stop_requested() const;
  Steady::time_point stop_deadline() const;
  void change_status(const std::function<void(ClientStatus&)>& change);

  const ClientOptions options_;
  const BrokerAddress address_;
  const Client::Take take_;
  const Clock& clock_;
  const std::string status_topic_;

  mutable std::mutex mutex_;
  std::condition_variable happened_;
  std::deque<LinkEvent> events_;
  OutgoingQueue outgoing_;
  ClientStatus status_;
  std::optional<Steady::time_point> stop_deadline_;
  bool ended_ = false;

  std::mutex changed_mutex_;  // held while changed_ is called
  std::function<void()> changed_;

  std::atomic<std::int64_t> last_message_ms_;
  std::atomic<std::uint64_t> messages_ = 0;
  std::atomic<bool> time_unsure_ = false;
  std::atomic<std::size_t> in_flight_count_ = 0;

  // run()'s thread only.
  ReconnectDelay delay_;
  unsigned failures_ = 0;                 // attempts in a row that did not connect
  unsigned short_drops_ = 0;              // connections lost within ten seconds, with no long one between
  unsigned thrown_out_ = 0;               // of them the latest, that the broker ended while the link was well
  std::unique_ptr<LinkWitness> witness_;  // opened before the connection
  bool connecting_ = false;
  bool connected_ = false;
  bool leaving_ = false;
  bool complaining_ = false;  // said that there is no broker, and not yet that there is one
  Steady::time_point connected_at_;
  Steady::time_point last_settled_;              // a report's outcome came, or the connection began
  std::size_t to_confirm_ = 0;                   // subscriptions not confirmed yet
  std::map<std::intptr_t, Outgoing> in_flight_;  // by id
  std::intptr_t last_id_ = 0;
  std::optional<PahoLink> link_;
};

}  // namespace coilward
