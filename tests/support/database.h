// A real PostgreSQL for one test: its own directory, a free loopback port, started, stopped and killed at
// will. As root it runs as the user postgres, since it refuses to be root. It does not sync its files: tests
// cut no power.
#pragma once

#include <string>

#include "tests/support/child_process.h"
#include "tests/support/temporary_directory.h"

namespace coilward {

// Every call throws std::runtime_error, with the server's own words, when it does not do what is asked.
class TestDatabase {
 public:
  static bool installed();  // tools/setup installs it

  TestDatabase();  // started, with an empty database `fleet`, when it returns
  ~TestDatabase();
  void start();  // returns when it answers
  void stop();   // open connections are cut
  void kill();   // SIGKILL
  std::string url() const;
  // One number that a statement gives.
  long number(const std::string& sql) const;
  void run(const std::string& sql) const;
  std::string log() const;
  // Processor time of its connections so far, to the hundredth of a second.
  double cpu_ms() const;

 private:
  std::vector<std::string> as_server(const std::string& program) const;
  std::string ask(const std::string& database, const std::string& sql) const;
  TemporaryDirectory directory_;
  int port_ = 0;
  ChildProcess process_;
};

}  // namespace coilward
