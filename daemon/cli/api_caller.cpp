#include "daemon/cli/api_caller.h"

#include <fmt/format.h>

#include <cstdlib>
#include <nlohmann/json.hpp>

#include "daemon/cli/offline_caller.h"
#include "daemon/cli/socket_caller.h"
#include "daemon/config/config.h"

namespace coilward {
namespace {

constexpr std::string_view kSocketName = "/coilward.sock";

Cause cause_of(int status) {
  if (status == 400 || status == 413) return Cause::bad_input;
  if (status == 404) return Cause::not_found;
  return status == 409 ? Cause::conflict : Cause::world;
}

Result<Json> parsed(const Result<std::string>& answer) {
  if (!answer) return answer.error();
  Json json = Json::parse(*answer, nullptr, false);
  if (json.is_discarded()) return Error{Cause::world, "the answer is not JSON"};
  return json_result(std::move(json));
}

}  // namespace

Result<Json> ApiCaller::get(const std::string& path, std::map<std::string, std::string> query) {
  return parsed(call({"GET", path, std::move(query), ""}, nullptr));
}

Result<Json> ApiCaller::post(const std::string& path, const Json& body) {
  return parsed(call({"POST", path, {}, body.dump(-1, ' ', false, Json::error_handler_t::replace)}, nullptr));
}

Error error_of(int status, std::string_view body) {
  const Json json = Json::parse(body, nullptr, false);
  const bool known = json.is_object() && json.value("detail", Json()).is_string();
  return {cause_of(status), known ? json["detail"].get<std::string>()
                                  : fmt::format("the daemon answered with status {}", status)};
}

Result<std::string> socket_path(const SiteOptions& options) {
  if (!options.socket.empty()) return options.socket;
  if (!options.config.empty()) {
    const auto config = load_config(options.config);
    if (!config) return config.error();
    return config->paths.run + std::string(kSocketName);
  }
  const char* directories = std::getenv("RUNTIME_DIRECTORY");  // systemd's, one or more separated by ':'
  const std::string first =
      directories ? std::string(directories).substr(0, std::string(directories).find(':')) : "";
  return (first.empty() ? "/run/coilward" : first) + std::string(kSocketName);
}

Result<std::unique_ptr<ApiCaller>> reach_site(const SiteOptions& options) {
  if (!options.state.empty()) {
    if (options.config.empty())
      return Error{Cause::bad_input, "--state needs --config FILE too, the configuration of that site"};
    return open_offline(options.config, options.state);
  }
  auto path = socket_path(options);
  if (!path) return path.error();
  return std::unique_ptr<ApiCaller>(new SocketCaller(std::move(*path)));
}

}  // namespace coilward
