// The certificate that the page is served with, from its files. They are looked at again while the daemon
// runs: new ones count for new connections, and what is half written or does not fit leaves the old pair in
// force. Thread: the core's.
#pragma once

#include <memory>
#include <string>

#include "daemon/base/result.h"
#include "daemon/base/time.h"

namespace boost::asio::ssl {
class context;
}

namespace coilward {

class TlsFiles {
 public:
  // PEM: the certificate with those that lead to a root, and its private key without a password. bad_config:
  // the file's name and what is wrong.
  static Result<std::unique_ptr<TlsFiles>> load(std::string certificate, std::string key);

  std::shared_ptr<boost::asio::ssl::context> context() const { return context_; }
  // Loads them anew when they have changed. Some microseconds when they have not. true: they were loaded.
  bool look();
  const std::string& file() const { return certificate_; }  // of the certificate
  // When the certificate ends.
  UtcTime ends() const { return ends_; }
  // From then on somebody should look: what renews it by itself has done so by then. 21 days before its end,
  // or a quarter of its time where that is less. Common practice: renewed when a third of it is left.
  UtcTime renew_by() const { return renew_by_; }
  // What is wrong with files that were changed meanwhile; empty: nothing.
  const std::string& trouble() const { return trouble_; }

 private:
  TlsFiles(std::string certificate, std::string key)
      : certificate_(std::move(certificate)), key_(std::move(key)) {}
  std::string seen_now() const;
  Result<bool> read();

  const std::string certificate_, key_;
  std::shared_ptr<boost::asio::ssl::context> context_;
  UtcTime ends_ = kNever, renew_by_ = kNever;
  std::string seen_;  // of the files as they were loaded, or tried: size, time, inode
  std::string trouble_;
};

}  // namespace coilward
