// A bad network between a client and a server on this machine: cuts, stalls, is slow, loses one direction.
#pragma once

#include <atomic>
#include <list>
#include <string>
#include <thread>

namespace coilward {

// Thread: any; forwards on a thread of its own.
class TcpProxy {
 public:
  explicit TcpProxy(int target_port);  // listens on a free loopback port when it returns
  ~TcpProxy();
  TcpProxy(const TcpProxy&) = delete;
  TcpProxy& operator=(const TcpProxy&) = delete;

  int port() const { return port_; }

  void cut();                             // every connection of the moment is reset; new ones are taken
  void stall(bool on) { stalled_ = on; }  // nothing passes, nothing is closed: a router that forgot
  void lose_requests(bool on) { lose_requests_ = on; }  // what the client says is taken and thrown away
  void slow_down(int bytes_a_second) {
    rate_ = bytes_a_second;
  }                   // each way of each connection; 0: as fast as can be
  void half_close();  // the server's side of each connection ends; the client may still speak

  int connections() const { return accepted_; }       // accepted so far
  std::uint64_t lost_bytes() const { return lost_; }  // by lose_requests

 private:
  struct Connection;
  void work(std::stop_token stop);
  void take_new();
  void pass(Connection& connection);
  bool forward(Connection& connection, bool from_client);

  int target_, port_ = 0, listener_ = -1;
  std::atomic<bool> stalled_ = false, lose_requests_ = false, cut_ = false, half_close_ = false;
  std::atomic<int> rate_ = 0, accepted_ = 0;
  std::atomic<std::uint64_t> lost_ = 0;
  std::list<Connection> connections_;
  std::jthread thread_;
};

}  // namespace coilward
