// Who may come in by the page, and whether it may be opened at all: the people and their logins, and the
// certificate that it is served with. Thread: the core's.
#pragma once

#include <boost/asio/io_context.hpp>
#include <memory>
#include <string>
#include <vector>

#include "daemon/base/side_thread.h"
#include "daemon/config/config.h"
#include "daemon/login/logins.h"
#include "daemon/web/site_access.h"
#include "daemon/web/tls_files.h"

namespace coilward {

class Door {
 public:
  // bad_config as fits(). All that is given outlives it.
  static Result<std::unique_ptr<Door>> make(const Config& config, boost::asio::io_context& core,
                                            const Clock& clock);

  // bad_config, with what to do about it: others would reach a page that asks nobody for a password, or the
  // certificate cannot be used.
  Result<bool> fits(const Config& config) const;

  Logins& logins() { return *logins_; }
  TlsFiles* certificate() { return certificate_.get(); }  // nullptr: the page is served without
  // Why somebody should look at the certificate; empty: nobody need.
  std::string certificate_trouble() const;
  // Stages: the certificate, where there is one, and the file of people, where it cannot be read.
  void add_health(std::vector<HealthStage>& list) const;

 private:
  Door(const Config& config, boost::asio::io_context& core, const Clock& clock);

  std::shared_ptr<Logins> logins_;
  std::unique_ptr<TlsFiles> certificate_;
  SideThread worker_;  // ends first: its jobs use the rest
};

}  // namespace coilward
