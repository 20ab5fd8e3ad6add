// What the tests of the page's door share: people who are added, certificates, refusals to start.
#pragma once

#include <fmt/format.h>
#include <gmock/gmock.h>

#include "tests/process/ask_page.h"
#include "tests/process/daemon_process.h"
#include "tests/support/broker.h"
#include "tests/support/certificate.h"

namespace coilward {

inline constexpr const char* kPassword = "a planted pass phrase 7391";

inline std::string http_toml(const std::string& keys) { return site_toml(nobody(), "[http]\n" + keys); }

// `coilward` with a line on its standard input; what it printed.
inline std::pair<int, std::string> client(const DaemonProcess& daemon, const std::string& words,
                                          const std::string& line = "") {
  const std::string out = daemon.log_file() + ".client";
  std::filesystem::remove(out);
  const int status =
      run_to_end({"/bin/sh", "-c",
                  "printf '%s\\n' \"$1\" | exec " COILWARD_BINARY_DIR "/bin/coilward " + words, "sh", line},
                 out);
  std::ostringstream text;
  text << std::ifstream(out).rdbuf();
  return {status, text.str()};
}

inline std::string files_of(const DaemonProcess& daemon) {
  return fmt::format(" --state {} --config {}", daemon.state(), daemon.config());
}

// What somebody types before the daemon is first started.
inline void add_sam_on_files(DaemonProcess& daemon, const std::string& good_toml) {
  daemon.write(good_toml);
  std::filesystem::create_directories(daemon.state());
  const auto [status, said] = client(daemon, "person add Sam" + files_of(daemon), kPassword);
  ASSERT_EQ(status, 0) << said;
}

inline void expect_refused_with(DaemonProcess& daemon, const std::vector<std::string>& words) {
  daemon.start();
  EXPECT_EQ(daemon.ends(), 78) << daemon.log();
  for (const std::string& word : words) EXPECT_THAT(daemon.log(), testing::HasSubstr(word));
  EXPECT_EQ(daemon.told.count("READY=1"), 0);
}

struct Certificates {
  TemporaryDirectory directory;
  const std::string certificate = directory / "page.pem", key = directory / "page.key";
  Certificates() { make_certificate(certificate, key, 7); }
  std::string keys() const { return fmt::format("certificate = \"{}\"\nkey = \"{}\"\n", certificate, key); }
};

}  // namespace coilward
