// A broker with TLS and the access list that we ship, a database and workers of the contractor's server, for
// one test. Every user's password is "pass".
#pragma once

#include <gtest/gtest.h>

#include <fstream>
#include <iterator>
#include <vector>

#include "daemon/config/config.h"
#include "daemon/web/query.h"
#include "tests/support/broker.h"
#include "tests/support/database.h"
#include "tests/support/poll.h"
#include "tests/support/temporary_directory.h"

namespace coilward {

class FleetStage {
 public:
  // sites: those that the broker knows.
  explicit FleetStage(int workers = 1, const std::vector<std::string>& sites = {})
      : broker(broker_options(sites)), workers_(static_cast<std::size_t>(workers)) {
    for (std::size_t i = 0; i < workers_.size(); ++i) start_worker(i);
  }

  void start_worker(std::size_t index) {
    const std::string config = config_file(index);
    const MqttConfig mqtt = login("fleet");
    std::ofstream(config) << "role = \"fleet\"\n[mqtt]\nurl = \"" << mqtt.url << "\"\nca_file = \""
                          << mqtt.ca_file << "\"\nusername = \"fleet\"\npassword_file = \""
                          << mqtt.password_file << "\"\n[database]\nurl = \"" << database.url()
                          << "\"\n[http]\nport = " << port(index) << "\n";
    workers_[index] = ChildProcess({COILWARD_BINARY_DIR "/bin/coilwardd", config}, log_file(index));
  }
  std::string config_file(std::size_t index = 0) const {
    return directory_ / ("fleet-" + std::to_string(index) + ".toml");
  }
  // The command line on the machine of the first worker: its status, and what it said.
  std::pair<int, std::string> coilward(std::vector<std::string> words) const {
    words.insert(words.begin(), COILWARD_BINARY_DIR "/bin/coilward");
    words.insert(words.end(), {"--config", config_file()});
    const std::string said = directory_ / "said";
    const int status = run_to_end(words, said);
    std::ifstream in(said);
    return {status, {std::istreambuf_iterator<char>(in), {}}};
  }
  // How this user reaches the broker.
  MqttConfig login(const std::string& user) const {
    MqttConfig config;
    config.url = broker.url();
    config.ca_file = broker.ca_file();
    config.username = user;
    config.client_id = "test-" + user;
    config.password_file = broker.secret_file("password-" + user, "pass\n");
    return config;
  }
  void kill_worker(std::size_t index) { workers_[index].end(SIGKILL); }
  int stop_worker(std::size_t index) { return workers_[index].end(SIGTERM); }
  // Processor time of this worker and of the database so far.
  double cpu_ms(std::size_t index = 0) const { return cpu_ms_of(workers_[index].pid()) + database.cpu_ms(); }
  bool sound(std::size_t index = 0) {
    return becomes_true([&] { return get("/healthz", index).find("200 OK") != std::string::npos; },
                        std::chrono::seconds(60));
  }
  std::string log(std::size_t index = 0) const {
    std::ifstream in(log_file(index));
    return {std::istreambuf_iterator<char>(in), {}};
  }
  // The whole answer, head and body; empty when nobody answers.
  std::string get(const std::string& target, std::size_t index = 0) {
    return ask("GET " + target, "", index);
  }
  std::string post(const std::string& target, const std::string& form, std::size_t index = 0) {
    return ask("POST " + target, form, index);
  }

  // Fills in the form at /login and keeps what it gives for the requests that follow. The answer.
  std::string log_in(const std::string& name, const std::string& password, std::size_t index = 0);
  // That of the forms on a page.
  std::string token_on(const std::string& target, std::size_t index = 0) {
    return text_after(get(target, index), "name=\"token\" value=\"", '"');
  }
  // What stands between `before` and the next `end`; empty: it is not there.
  static std::string text_after(const std::string& text, const std::string& before, char end) {
    const auto at = text.find(before);
    if (at == std::string::npos) return {};
    return text.substr(at + before.size(), text.find(end, at + before.size()) - at - before.size());
  }

  Broker broker;
  TestDatabase database;
  std::string cookie;  // of every request; empty: none

 private:
  static BrokerOptions broker_options(const std::vector<std::string>& sites) {
    BrokerOptions options;
    options.tls = true;
    std::ifstream list(COILWARD_SOURCE_DIR "/config/fleet.acl");
    options.access_list = {std::istreambuf_iterator<char>(list), {}};
    options.passwords["fleet"] = "pass";
    for (const auto& site : sites) options.passwords[site] = "pass";
    return options;
  }
  int port(std::size_t index) {
    while (ports_.size() <= index) ports_.push_back(free_port());
    return ports_[index];
  }
  std::string log_file(std::size_t index) const { return directory_ / ("log-" + std::to_string(index)); }
  std::string ask(const std::string& what, const std::string& form, std::size_t index);

  TemporaryDirectory directory_;
  std::vector<int> ports_;
  std::vector<ChildProcess> workers_;
};

inline std::string FleetStage::ask(const std::string& what, const std::string& form, std::size_t index) {
  const int file = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  const sockaddr_in address = loopback_address(port(index));
  std::string answer;
  if (::connect(file, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0) {
    const std::string host = "localhost:" + std::to_string(port(index));
    const std::string request = what + " HTTP/1.1\r\nHost: " + host + "\r\nOrigin: http://" + host +
                                (cookie.empty() ? "" : "\r\nCookie: " + cookie) +
                                "\r\nContent-Length: " + std::to_string(form.size()) +
                                "\r\nConnection: close\r\n\r\n" + form;
    (void)!::send(file, request.data(), request.size(), MSG_NOSIGNAL);
    char block[65536];
    for (ssize_t n; (n = ::recv(file, block, sizeof block, 0)) > 0;)
      answer.append(block, static_cast<std::size_t>(n));
  }
  ::close(file);
  return answer;
}

inline std::string FleetStage::log_in(const std::string& name, const std::string& password,
                                      std::size_t index) {
  cookie.clear();
  const std::string answer = post("/login",
                                  "token=" + token_on("/login", index) + "&name=" + percent_encoded(name) +
                                      "&password=" + percent_encoded(password),
                                  index);
  if (const std::string secret = text_after(answer, "Set-Cookie: coilward_session=", ';'); !secret.empty())
    cookie = "coilward_session=" + secret;
  return answer;
}

#define COILWARD_NEEDS_POSTGRESQL() \
  if (!TestDatabase::installed()) GTEST_SKIP() << "PostgreSQL is not installed; tools/setup installs it"

}  // namespace coilward
