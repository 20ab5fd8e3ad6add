// HTTP/1.1 over a Unix socket and, if asked for, a TCP port, on the core's io_context.
//
// An answer without an end (server-sent events) is looked after once a second or as it wants, ends with
// stop() or when the asker goes, and is refused with 503 beyond its ceiling.
//
// Every stage has a time limit and every resource a ceiling, so that slow or many clients cost neither
// descriptors nor the site's work: header 10 s, body 30 s, idle 60 s, 64 connections, 8 an address on TCP, 8
// live, body 1 MiB (where a picture is sent, what that may have: picture.h), header 16 KiB (own choice,
// common practice for small servers).
//
// The Unix socket is guarded by its file mode (0660); who may do what over TCP is the API's to say (gate.h).
// On loopback alone it answers loopback names in Host only (against DNS rebinding); opened to the network, or
// behind a proxy of this machine, it answers under any.
#pragma once

#include <chrono>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>

#include "daemon/base/result.h"

namespace boost::asio {
class io_context;
}

namespace coilward {

class RequestHandler;
class TlsFiles;

struct HttpLimits {
  std::chrono::milliseconds header{10'000};
  std::chrono::milliseconds body{30'000};
  std::chrono::milliseconds idle{60'000};
  std::chrono::milliseconds send{30'000};     // for each piece of an answer
  std::chrono::milliseconds live_step{1000};  // between two looks at what is new
  std::size_t connections = 64;
  std::size_t per_address = 8;  // live ones beside
  std::size_t live = 8;         // answers without an end: pages that show what is drawn as it changes
  std::size_t body_bytes = 1u << 20;
  std::size_t header_bytes = 16u << 10;
};

struct HttpOptions {
  std::string socket_path;                // empty: no Unix socket
  std::optional<std::uint16_t> tcp_port;  // on 127.0.0.1 and ::1; 0: any free port (on 127.0.0.1)
  HttpLimits limits;
  std::string address = {};   // of the port; empty: loopback
  TlsFiles* tls = nullptr;    // of the port; looked at once in a while; outlives the server. nullptr: plain
  bool behind_proxy = false;  // a reverse proxy of this machine says whom it asks for, and under which name
};

// Thread: the one that runs the io_context. `api` outlives the io_context's run.
class HttpServer {
 public:
  // Listens at once. A socket file that nobody answers is replaced. conflict: somebody answers there, or the
  // port is taken. world: cannot be made.
  static Result<std::unique_ptr<HttpServer>> start(boost::asio::io_context& core, RequestHandler& api,
                                                   HttpOptions options);
  // As stop().
  ~HttpServer();

  // Accepts nothing more, closes every connection and removes the socket file. Answers still under way are
  // cut.
  void stop();

  std::uint16_t port() const;       // 0: no TCP
  std::size_t connections() const;  // open now
  std::uint64_t requests() const;   // since start
  std::uint64_t refused() const;    // connections over the ceilings

 private:
  class Impl;
  explicit HttpServer(std::shared_ptr<Impl> impl);
  std::shared_ptr<Impl> impl_;
};

}  // namespace coilward
