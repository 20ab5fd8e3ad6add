// A real mosquitto for one test: its own directory, a free loopback port, started, stopped, killed, frozen
// and restarted on the same port at will.
#pragma once

#include <netinet/in.h>

#include <map>
#include <string>

#include "tests/support/child_process.h"
#include "tests/support/temporary_directory.h"

namespace coilward {

struct BrokerOptions {
  bool persistence = false;                      // sessions and retained messages survive a restart
  std::map<std::string, std::string> passwords;  // user name to password; empty: anyone may connect
  std::string access_list;                       // the text of an acl_file; empty: everything is allowed
  bool tls = false;                              // with a private authority made for this broker
  std::string extra;                             // more lines of mosquitto.conf
};

// Every call throws std::runtime_error, with the broker's own words, when the broker does not do what is
// asked.
class Broker {
 public:
  explicit Broker(BrokerOptions options = {});  // started when it returns

  void start();  // returns when it accepts connections
  void stop();   // SIGTERM; what is persistent is written
  void kill();   // SIGKILL
  void restart() {
    stop();
    start();
  }
  void freeze();  // SIGSTOP: accepts connections (the kernel does) and says nothing
  void thaw();

  int port() const { return port_; }
  std::string url() const;  // mqtt://127.0.0.1:PORT or mqtts://localhost:PORT
  std::string ca_file() const { return directory_ / "ca.crt"; }
  // A file with this text that only we can read, for password_file.
  std::string secret_file(const std::string& name, const std::string& text) const;
  std::string log() const;
  const std::string& directory() const { return directory_.path(); }

 private:
  void write_configuration();
  void make_passwords();
  void make_certificates();
  bool try_start();

  BrokerOptions options_;
  TemporaryDirectory directory_;
  int port_ = 0;
  ChildProcess process_;
};

// A loopback port that nothing listens on now, outside of the range that the kernel gives to outgoing
// connections.
int free_port();

sockaddr_in loopback_address(int port);

}  // namespace coilward
