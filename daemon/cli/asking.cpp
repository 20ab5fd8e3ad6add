#include "daemon/cli/asking.h"

namespace coilward {

Result<Shown> ask(const SiteOptions& options, const std::string& path,
                  std::map<std::string, std::string> query) {
  const auto caller = reach_site(options);
  if (!caller) return caller.error();
  auto answer = (*caller)->get(path, std::move(query));
  if (!answer) return answer.error();
  if (options.json) return Shown{std::move(*answer), ""};
  const auto site = (*caller)->get("/api/v1/site");
  if (!site) return site.error();
  return Shown{std::move(*answer), (*site)["timezone"].get<std::string>()};
}

}  // namespace coilward
