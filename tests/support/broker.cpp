#include "tests/support/broker.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <unistd.h>

#include <csignal>
#include <fstream>
#include <iterator>
#include <random>
#include <stdexcept>

#include "tests/support/poll.h"

namespace coilward {

sockaddr_in loopback_address(int port) {
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_port = htons(static_cast<std::uint16_t>(port));
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  return address;
}

namespace {

template <class Call>
bool with_socket(int port, Call call) {
  const int file = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  const sockaddr_in address = loopback_address(port);
  const bool ok = call(file, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0;
  ::close(file);
  return ok;
}

bool answers(int port) { return with_socket(port, ::connect); }

void write_file(const std::string& path, const std::string& text) {
  std::ofstream(path) << text;
  ::chmod(path.c_str(), 0600);
}

std::string read_file(const std::string& path) {
  std::ifstream in(path);
  return {std::istreambuf_iterator<char>(in), {}};
}

void run_or_throw(const std::vector<std::string>& command, const std::string& log) {
  if (run_to_end(command, log) != 0) throw std::runtime_error(command.front() + " failed: " + read_file(log));
}

}  // namespace

int free_port() {
  static std::mt19937 random(std::random_device{}());
  std::uniform_int_distribution<int> ports(15000, 32000);
  for (;;) {
    const int port = ports(random);
    if (with_socket(port, ::bind)) return port;
  }
}

Broker::Broker(BrokerOptions options) : options_(std::move(options)) {
  make_passwords();
  make_certificates();
  for (int attempt = 0; attempt < 5; ++attempt) {  // someone else may take the port before we do
    port_ = free_port();
    write_configuration();
    if (try_start()) return;
  }
  throw std::runtime_error("mosquitto does not start: " + log());
}

void Broker::write_configuration() {
  std::string text = "listener " + std::to_string(port_) + " 127.0.0.1\n";
  if (::geteuid() == 0) text += "user root\n";  // else it gives up its rights to our directory
  text += std::string("allow_anonymous ") + (options_.passwords.empty() ? "true\n" : "false\n");
  if (!options_.passwords.empty()) text += "password_file " + (directory_ / "passwords") + "\n";
  if (!options_.access_list.empty()) {
    write_file(directory_ / "access", options_.access_list);
    text += "acl_file " + (directory_ / "access") + "\n";
  }
  if (options_.tls) {
    text += "certfile " + (directory_ / "server.crt") + "\nkeyfile " + (directory_ / "server.key") + "\n";
  }
  if (options_.persistence) text += "persistence true\npersistence_location " + directory_.path() + "/\n";
  write_file(directory_ / "mosquitto.conf", text + options_.extra);
}

void Broker::make_passwords() {
  if (options_.passwords.empty()) return;
  write_file(directory_ / "passwords", "");
  for (const auto& [user, password] : options_.passwords) {
    run_or_throw({find_program("mosquitto_passwd"), "-b", directory_ / "passwords", user, password},
                 directory_ / "passwd.log");
  }
}

void Broker::make_certificates() {
  if (!options_.tls) return;
  const std::string log = directory_ / "openssl.log";
  const std::string openssl = find_program("openssl");
  const std::vector<std::string> key = {"-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1",
                                        "-nodes"};
  std::vector<std::string> authority = {openssl,
                                        "req",
                                        "-x509",
                                        "-days",
                                        "2",
                                        "-subj",
                                        "/CN=Test authority",
                                        "-keyout",
                                        directory_ / "ca.key",
                                        "-out",
                                        ca_file()};
  authority.insert(authority.end(), key.begin(), key.end());
  run_or_throw(authority, log);
  std::vector<std::string> request = {openssl,   "req",
                                      "-subj",   "/CN=localhost",
                                      "-keyout", directory_ / "server.key",
                                      "-out",    directory_ / "server.csr"};
  request.insert(request.end(), key.begin(), key.end());
  run_or_throw(request, log);
  write_file(directory_ / "names", "subjectAltName=DNS:localhost\n");
  run_or_throw({openssl, "x509", "-req", "-days", "2", "-in", directory_ / "server.csr", "-CA", ca_file(),
                "-CAkey", directory_ / "ca.key", "-CAcreateserial", "-extfile", directory_ / "names", "-out",
                directory_ / "server.crt"},
               log);
}

bool Broker::try_start() {
  const std::string program = find_program("mosquitto");
  if (program.empty()) throw std::runtime_error("mosquitto is not installed");
  process_ = ChildProcess({program, "-c", directory_ / "mosquitto.conf"}, directory_ / "broker.log");
  becomes_true([this] { return answers(port_) || !process_.running(); });
  return process_.running();
}

void Broker::start() {
  if (!try_start()) throw std::runtime_error("mosquitto does not start again: " + log());
}

void Broker::stop() { process_.end(SIGTERM); }
void Broker::kill() { process_.end(SIGKILL); }
void Broker::freeze() { process_.signal(SIGSTOP); }
void Broker::thaw() { process_.signal(SIGCONT); }

std::string Broker::url() const {
  return (options_.tls ? "mqtts://localhost:" : "mqtt://127.0.0.1:") + std::to_string(port_);
}

std::string Broker::secret_file(const std::string& name, const std::string& text) const {
  write_file(directory_ / name, text);
  return directory_ / name;
}

std::string Broker::log() const { return read_file(directory_ / "broker.log"); }

}  // namespace coilward
