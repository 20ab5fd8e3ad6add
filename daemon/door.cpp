#include "daemon/door.h"

#include <fmt/format.h>

#include <boost/asio/post.hpp>

#include "daemon/base/log.h"
#include "daemon/login/login_file.h"

namespace coilward {
namespace {

bool others_reach(const HttpConfig& http) {
  return http.port > 0 && (http.beyond_loopback() || http.behind_proxy);
}

Error open_to_everybody(const Config& config, const std::string& why) {
  const HttpConfig& http = config.http;
  const bool by_address = http.beyond_loopback();
  return {Cause::bad_config,
          fmt::format(
              "{}:{}: http.{}: others would reach the page, and {}. Make somebody first: `coilward person "
              "add NAME --state {} --config {}`, as the user that the daemon runs as; or leave "
              "address and behind_proxy out, and the page is open to this machine alone",
              config.file, by_address ? http.address_line : http.proxy_line,
              by_address ? "address" : "behind_proxy", why, config.paths.state, config.file)};
}

Result<std::unique_ptr<TlsFiles>> load_certificate(const Config& config) {
  if (config.http.port == 0 || config.http.certificate.empty()) return std::unique_ptr<TlsFiles>();
  auto files = TlsFiles::load(config.http.certificate, config.http.key);
  if (files) return files;
  return Error{
      Cause::bad_config,
      fmt::format("{}:{}: http.certificate: the page cannot be served over TLS. {}. Both files must be "
                  "PEM, belong together, and be readable for the user that the daemon runs as",
                  config.file, config.http.certificate_line, files.error().what)};
}

}  // namespace

Door::Door(const Config& config, boost::asio::io_context& core, const Clock& clock) {
  LoginThreads threads;
  threads.work = [this](std::function<void()> job) { worker_.give(std::move(job)); };
  threads.post = [&core](std::function<void()> call) { boost::asio::post(core, std::move(call)); };
  logins_ = Logins::open(people_path(config.paths.state), std::move(threads), clock);
  if (!logins_->damaged().empty()) log::error("nobody can log in: {}", logins_->damaged());
  logins_->on_first([] { log::info("from now on the page asks for a login"); });
}

Result<std::unique_ptr<Door>> Door::make(const Config& config, boost::asio::io_context& core,
                                         const Clock& clock) {
  std::unique_ptr<Door> door(new Door(config, core, clock));
  if (auto good = door->fits(config); !good) return good.error();
  auto certificate = load_certificate(config);
  if (!certificate) return certificate.error();
  door->certificate_ = std::move(*certificate);
  return door;
}

Result<bool> Door::fits(const Config& config) const {
  if (others_reach(config.http) && !logins_->anybody())
    return open_to_everybody(config,
                             logins_->damaged().empty() ? "nobody has a password yet" : logins_->damaged());
  if (auto certificate = load_certificate(config); !certificate) return certificate.error();
  return true;
}

std::string Door::certificate_trouble() const {
  if (!certificate_) return {};
  if (!certificate_->trouble().empty()) return certificate_->trouble();
  const UtcTime now = logins_->now();
  if (now < certificate_->renew_by()) return {};
  return fmt::format("{} {} {}: renew it", certificate_->file(),
                     now < certificate_->ends() ? "ends" : "ended", format_rfc3339(certificate_->ends()));
}

void Door::add_health(std::vector<HealthStage>& list) const {
  if (!logins_->damaged().empty())
    list.push_back({"people", false, "nobody is let in: " + logins_->damaged(), kNever});
  if (!certificate_) return;
  const std::string why = certificate_trouble();
  list.push_back({"certificate", why.empty(), why, kNever});
}

}  // namespace coilward
