// How a verb asks its questions: the same request goes to the running daemon's socket or to the handlers over
// the files. Thread: one.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <string_view>

#include "daemon/base/pipeline_json.h"
#include "daemon/web/api.h"

namespace coilward {

// What every verb that speaks of a site is given.
struct SiteOptions {
  std::string socket;  // --socket
  std::string config;  // --config
  std::string state;   // --state: files alone
  bool json = false;
};

// Takes a long answer as it comes. false: no more of it is wanted.
using Sink = std::function<bool(std::string_view)>;

class ApiCaller {
 public:
  virtual ~ApiCaller() = default;
  // The answer of status 200, whole or through the sink. Other answers are errors: their detail is the text,
  // and bad_input, not_found, conflict or world the cause.
  virtual Result<std::string> call(const ApiRequest& request, const Sink& sink) = 0;

  Result<Json> get(const std::string& path, std::map<std::string, std::string> query = {});
  Result<Json> post(const std::string& path, const Json& body);
};

// By the options: the files with --state (bad_input without --config), else the daemon. bad_config: a wrong
// file.
Result<std::unique_ptr<ApiCaller>> reach_site(const SiteOptions& options);
// --socket; else paths.run of --config; else $RUNTIME_DIRECTORY; else /run/coilward.
Result<std::string> socket_path(const SiteOptions& options);

// problem+json as an error.
Error error_of(int status, std::string_view body);

}  // namespace coilward
