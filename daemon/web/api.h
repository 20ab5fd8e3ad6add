// The routes of contract section 8, without HTTP: a request in, an answer out. The same handlers serve the
// daemon (through http_server.h) and the command line on files alone.
//
// Errors are application/problem+json (RFC 9457). Unknown query parameters and members are errors too: a
// misspelt "untill" must not silently give everything.
#pragma once

#include <chrono>
#include <functional>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/web/need.h"
#include "daemon/web/site_access.h"

namespace coilward {

class Logins;

// Who asks, as far as the way tells by which the request came; what that one may do: gate.h.
struct Asker {
  bool local = true;               // by the Unix socket, or within the process: a local user's power
  std::string address = {};        // of the other side
  std::string host = {};           // the Host field
  bool secure = false;             // over TLS, here or before the proxy
  std::string cookies = {};        // the Cookie field
  std::string authorization = {};  // the Authorization field
  std::string token = {};          // the X-Coilward-Token field: what our forms carry as "token"
};

struct ApiRequest {
  std::string method;  // GET, HEAD, POST
  std::string path;    // decoded, without the query
  std::map<std::string, std::string> query;
  std::string body;  // JSON object for POST, fields of a form for what a page posts; empty stands for {}
  Asker asker = {};
  std::string content_type = {};  // of the body; asked of a form with a file alone
};

// Gives the next piece of a long answer, at most some 64 KiB or one page of history; empty text: that was
// all. An error in mid-stream ends the connection, so that a cut answer cannot be taken for a whole one.
using BodyPieces = std::function<Result<std::string>()>;

// Asked once a second or oftener for as long as the asker stays: what is new, empty when nothing is.
using LiveText = std::function<std::string()>;

struct ApiResponse {
  int status = 200;
  std::string content_type = "application/json";
  std::string body;
  BodyPieces pieces;                       // instead of body, when set
  LiveText live;                           // instead of both, when set: an answer without an end
  std::chrono::milliseconds live_step{0};  // between two looks at what is new; 0: the server's own
  std::string allow;                       // methods, with status 405
  std::string file_name;                   // suggested when saved; empty: shown
  std::string location;                    // where to go on, with status 303
  std::string cache;                       // how long it may be kept; empty: not at all
  std::vector<std::pair<std::string, std::string>> fields;  // more of the header: cookies among them
  std::function<bool()> welcome;  // with live: whether who asked may still look; when not, the answer ends
};

using Respond = std::function<void(ApiResponse)>;

struct Route {
  std::string method;
  std::string pattern;  // "/api/v1/zones/{zone}/history"
  Need need;
  std::string keys;  // of the query (GET) or of the body (POST), separated by blanks
};

// Who answers an HTTP server's requests.
class RequestHandler {
 public:
  virtual ~RequestHandler() = default;
  // Calls respond exactly once, now or later. `respond` must be safe to call after the asker has gone.
  virtual void handle(const ApiRequest& request, Respond respond) = 0;
};

// Pages are HTML; so are their problems. What a page posts is done only with the token that our own pages
// carry, and what is posted to the API over TCP with the same token in X-Coilward-Token.
//
// Thread: that of the SiteAccess, which outlives it.
class Api final : public RequestHandler {
 public:
  // logins: who may come in over TCP, where there is such a list; outlives it.
  explicit Api(SiteAccess& site, Logins* logins = nullptr);
  void handle(const ApiRequest& request, Respond respond) override;

  static std::vector<Route> routes();
  // What a body may have there beyond the server's own limit, in bytes: of a form with a file. 0: no more.
  static std::size_t body_bytes(std::string_view method, std::string_view path);
  static std::size_t largest_body_bytes();

 private:
  SiteAccess& site_;
  Logins* const logins_;
  const std::string token_;  // of this process
};

// application/problem+json for an error, with the status that its cause maps to.
ApiResponse problem(const Error& error);
ApiResponse problem(int status, std::string_view title, std::string_view detail);

}  // namespace coilward
