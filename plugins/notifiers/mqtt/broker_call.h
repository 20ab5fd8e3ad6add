// One visit to a broker: connect, publish, hear that each message was taken, leave. With libmosquitto,
// because the daemon's own link uses Paho, whose clients share one lock: a notifier's broker that hangs must
// not hold up the readings.
#pragma once

#include <mosquitto.h>

#include <atomic>
#include <chrono>
#include <memory>
#include <set>
#include <string>
#include <vector>

#include "plugins/common/reply.h"

namespace coilward_plugins {

struct BrokerPlace {
  std::string host;
  int port = 1883;
  bool tls = false;
  int version = 5;  // 4 is 3.1.1
  std::string client_id, username, ca_file, cert_file, key_file;
};

struct BrokerMessage {
  std::string topic, payload;
  bool retain = false;
};

// Thread: one; `interrupted` may be set by another.
class BrokerCall {
 public:
  BrokerCall(const BrokerPlace& place, const std::string& password, const std::atomic<bool>& interrupted);
  // done: the broker acknowledged each message. refused: it said for good that it will not take one. retry:
  // anything else.
  Reply publish(const std::vector<BrokerMessage>& messages, std::chrono::steady_clock::time_point deadline);

 private:
  struct Free {
    void operator()(mosquitto* client) const { mosquitto_destroy(client); }
  };
  enum class Step { connecting, publishing, done, failed };
  void prepare(const std::string& password);
  bool connect();
  void send(const std::vector<BrokerMessage>& messages);
  void loop(const std::vector<BrokerMessage>& messages, std::chrono::steady_clock::time_point deadline);
  void fail(Reply reply);
  void heard_connect(int code);
  void heard_publish(int id, int reason);
  std::string broken_socket() const;
  std::string failure_of(int error) const;

  const BrokerPlace& place_;
  const std::atomic<bool>& interrupted_;
  std::unique_ptr<mosquitto, Free> client_;
  Step step_ = Step::connecting;
  bool connected_ = false;
  std::set<int> waiting_;  // ids of messages that are not acknowledged yet
  std::string log_;        // what the library last complained of: OpenSSL's own words among it
  std::string remark_;     // of an acknowledgement that is one, but says something
  Reply reply_;
};

}  // namespace coilward_plugins
