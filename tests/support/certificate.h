// Certificates for 127.0.0.1 and localhost that sign themselves, made by openssl(1).
#pragma once

#include <cstdlib>
#include <stdexcept>
#include <string>

namespace coilward {

// Overwrites both files. serial tells one from another.
inline void make_certificate(const std::string& certificate, const std::string& key, int serial,
                             int days = 60) {
  const std::string command =
      "openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -days " + std::to_string(days) +
      " -set_serial " + std::to_string(serial) +
      " -subj /CN=coilward.test -addext subjectAltName=IP:127.0.0.1,DNS:localhost -keyout '" + key +
      "' -out '" + certificate + "' 2>/dev/null";
  if (std::system(command.c_str()) != 0) throw std::runtime_error("openssl cannot make a certificate");
}

}  // namespace coilward
