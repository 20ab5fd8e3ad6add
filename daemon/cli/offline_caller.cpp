#include "daemon/cli/offline_caller.h"

#include <optional>

#include "daemon/cli/offline_site.h"

namespace coilward {
namespace {

class OfflineCaller final : public ApiCaller {
 public:
  explicit OfflineCaller(std::unique_ptr<OfflineSite> site) : site_(std::move(site)), api_(*site_) {}

  Result<std::string> call(const ApiRequest& request, const Sink& sink) override {
    std::optional<ApiResponse> response;
    api_.handle(request, [&](ApiResponse answer) { response = std::move(answer); });
    if (!response) return Error{Cause::world, "the files gave no answer"};  // nothing here answers later
    if (response->status != 200) return error_of(response->status, response->body);
    return whole(*response, sink);
  }

 private:
  static Result<std::string> whole(ApiResponse& response, const Sink& sink) {
    std::string all;
    const Sink take = sink ? sink : [&all](std::string_view text) { return all.append(text), true; };
    if (!response.body.empty() && !take(response.body)) return all;
    while (response.pieces) {
      const auto piece = response.pieces();
      if (!piece) return piece.error();
      if (piece->empty() || !take(*piece)) break;
    }
    return all;
  }

  std::unique_ptr<OfflineSite> site_;
  Api api_;
};

}  // namespace

Result<std::unique_ptr<ApiCaller>> open_offline(const std::string& config_file,
                                                const std::string& state_directory) {
  auto site = OfflineSite::open(config_file, state_directory);
  if (!site) return site.error();
  return std::unique_ptr<ApiCaller>(new OfflineCaller(std::move(*site)));
}

}  // namespace coilward
