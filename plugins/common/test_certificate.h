// A certificate for 127.0.0.1 that signs itself, made once for all tests of a program.
#pragma once

#include <cstdlib>
#include <stdexcept>

#include "tests/support/temporary_directory.h"

namespace coilward_plugins {

// Holds cert.pem and key.pem.
inline const coilward::TemporaryDirectory& certificates() {
  static const coilward::TemporaryDirectory directory;
  static const int made =
      std::system(("openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -days 2 -subj "
                   "/CN=coilward.test -addext subjectAltName=IP:127.0.0.1 -keyout " +
                   directory / "key.pem" + " -out " + directory / "cert.pem" + " 2>/dev/null")
                      .c_str());
  if (made != 0) throw std::runtime_error("openssl cannot make a certificate");
  return directory;
}

}  // namespace coilward_plugins
