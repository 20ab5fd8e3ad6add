#include "tests/support/database.h"

#include <pwd.h>
#include <unistd.h>

#include <csignal>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <stdexcept>

#include "tests/support/broker.h"
#include "tests/support/poll.h"

namespace coilward {
namespace {

// Debian keeps the server's programs by version; the latest.
std::string server_directory() {
  std::string found;
  std::error_code error;
  for (const auto& entry : std::filesystem::directory_iterator("/usr/lib/postgresql", error))
    if (std::filesystem::exists(entry.path() / "bin/initdb"))
      found = std::max(found, (entry.path() / "bin").string());
  return found;
}

std::string words_in(const std::string& path) {
  std::ifstream in(path);
  return {std::istreambuf_iterator<char>(in), {}};
}

}  // namespace

bool TestDatabase::installed() { return !server_directory().empty(); }

TestDatabase::TestDatabase() : port_(free_port()) {
  std::filesystem::create_directory(directory_ / "data");
  if (::geteuid() == 0) {
    const passwd* user = ::getpwnam("postgres");
    if (!user) throw std::runtime_error("there is no user postgres");
    for (const auto& path : {directory_.path(), directory_ / "data"})
      if (::chown(path.c_str(), user->pw_uid, user->pw_gid) != 0) throw std::runtime_error("chown " + path);
  }
  auto command = as_server("initdb");
  for (const char* word : {"-D", "", "-U", "fleet", "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8", "-N"})
    command.push_back(*word ? word : directory_ / "data");
  if (run_to_end(command, directory_ / "initdb.log") != 0)
    throw std::runtime_error(words_in(directory_ / "initdb.log"));
  start();
  ask("postgres", "create database fleet");
}

TestDatabase::~TestDatabase() { process_.end(SIGQUIT); }

std::vector<std::string> TestDatabase::as_server(const std::string& program) const {
  const std::string path = server_directory() + "/" + program;
  if (::geteuid() != 0) return {path};
  // The death of the test is told to it anew: a change of user forgets that.
  return {"/usr/bin/setpriv", "--reuid=postgres", "--regid=postgres",
          "--clear-groups",   "--pdeathsig=KILL", path};
}

void TestDatabase::start() {
  auto command = as_server("postgres");
  for (const std::string& word :
       {std::string("-D"), directory_ / "data", std::string("-p"), std::to_string(port_), std::string("-c"),
        std::string("listen_addresses=127.0.0.1"), std::string("-c"),
        "unix_socket_directories=" + directory_.path(), std::string("-c"), std::string("fsync=off"),
        std::string("-c"), std::string("shared_buffers=64MB")})
    command.push_back(word);
  // What is left of a killed one may hold its memory for a moment: then it refuses to start, and is asked
  // again.
  const bool answers = becomes_true(
      [&] {
        if (!process_.running()) process_ = ChildProcess(command, directory_ / "log");
        return run_to_end({server_directory() + "/pg_isready", "-q", "-h", "127.0.0.1", "-p",
                           std::to_string(port_)}) == 0;
      },
      std::chrono::seconds(30));
  if (!answers) throw std::runtime_error("PostgreSQL does not answer: " + log());
}

void TestDatabase::stop() { process_.end(SIGINT); }
void TestDatabase::kill() { process_.end(SIGKILL); }
std::string TestDatabase::url() const {
  return "postgresql://fleet@127.0.0.1:" + std::to_string(port_) + "/fleet";
}
std::string TestDatabase::log() const { return words_in(directory_ / "log"); }

double TestDatabase::cpu_ms() const {
  double sum = 0;
  for (const pid_t child : children_of(process_.pid())) sum += cpu_ms_of(child);
  return sum;
}

std::string TestDatabase::ask(const std::string& database, const std::string& sql) const {
  const std::string output = directory_ / "answer";
  std::filesystem::remove(output);  // else this answer would stand below the last one
  const int status =
      run_to_end({find_program("psql"), "-X", "-A", "-t", "-q", "-v", "ON_ERROR_STOP=1", "-h", "127.0.0.1",
                  "-p", std::to_string(port_), "-U", "fleet", "-d", database, "-c", sql},
                 output);
  if (status != 0) throw std::runtime_error(sql + ": " + words_in(output));
  return words_in(output);
}

long TestDatabase::number(const std::string& sql) const { return std::stol("0" + ask("fleet", sql)); }
void TestDatabase::run(const std::string& sql) const { ask("fleet", sql); }

}  // namespace coilward
