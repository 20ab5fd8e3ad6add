#include "tests/delivery/receiving_ends.h"

#include <chrono>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "plugins/notifiers/webpush/phones.h"
#include "tests/support/child_process.h"
#include "tests/support/poll.h"

namespace coilward {
namespace {

using Json = nlohmann::ordered_json;
using coilward_plugins::certificates;
using coilward_plugins::file_text;
using coilward_plugins::ScriptServer;
namespace fs = std::filesystem;

// A server in Python over TLS: email, webhook or webpush. What it took is kept over its restarts.
class ServerEnd final : public ReceivingEnd {
 public:
  explicit ServerEnd(std::string plugin) : plugin_(std::move(plugin)) {
    trust(true);
    set(Trouble::none);
  }
  std::string plugin() const override { return plugin_; }
  Json settings() const override {
    if (plugin_ == "webhook") return {{"url", "https://" + at() + "/"}, {"ca_file", ca_}};
    if (plugin_ == "webpush")
      return {{"contact", "mailto:a@b.example"}, {"directory", directory_ / "push/phones"}, {"ca_file", ca_}};
    return {{"url", "smtp://" + at()},
            {"from", "coilward@garden.example"},
            {"to", {"anna@example.org"}},
            {"ca_file", ca_}};
  }
  bool can(Trouble) const override { return true; }
  void set(Trouble trouble) override {
    trust(trouble != Trouble::tls);
    std::ofstream(trouble_) << (trouble == Trouble::later_4xx   ? "4xx"
                                : trouble == Trouble::later_5xx ? "5xx"
                                : trouble == Trouble::hang      ? "hang"
                                                                : "accept");
    if (trouble == Trouble::refuse) return server_.reset();
    if (!server_) start();
  }
  std::vector<std::string> taken() override {
    std::vector<std::string> ids;
    for (auto limit = std::chrono::milliseconds{10'000}; const auto one = server_->got(limit);
         limit = std::chrono::milliseconds{50})
      ids.push_back((*one)["id"]);
    return ids;
  }

 private:
  std::string at() const { return "127.0.0.1:" + std::to_string(port_); }
  // Another's certificate is what nobody trusts here.
  void trust(bool on) {
    fs::copy_file(on ? certificates() / "cert.pem" : other_.ca_file(), ca_,
                  fs::copy_options::overwrite_existing);
  }
  // Each start has another phone behind the same address.
  void start() {
    const std::string cert = certificates() / "cert.pem", key = certificates() / "key.pem",
                      phone = directory_ / "phone.json";
    server_ = std::make_unique<ScriptServer>(
        "tests/delivery/other_side.py",
        std::vector<std::string>{plugin_, std::to_string(port_), cert, key, trouble_, phone});
    if (plugin_ != "webpush") return;
    const auto keys = nlohmann::json::parse(file_text(directory_ / "phone.json"));
    const std::string p256dh = keys["p256dh"], auth = keys["auth"];
    coilward_plugins::Phones(directory_ / "push/phones")
        .add({"https://" + at() + "/phone", p256dh, auth, "phone"}, 0);
  }

  std::string plugin_;
  TemporaryDirectory directory_;
  Broker other_{{.tls = true}};  // for its authority
  std::string ca_ = directory_ / "ca.pem", trouble_ = directory_ / "trouble";
  int port_ = free_port();
  std::unique_ptr<ScriptServer> server_;
};

// Ids in the lines of a file that grows, each a JSON object of an alert.
class GrowingFile {
 public:
  explicit GrowingFile(std::string path) : path_(std::move(path)) {}
  std::vector<std::string> taken() {
    std::vector<std::string> all;
    const auto more = [&] { return (all = ids()).size() > seen_; };
    becomes_true(more, std::chrono::seconds{10});
    const std::vector<std::string> fresh(
        all.begin() + static_cast<std::ptrdiff_t>(std::min(seen_, all.size())), all.end());
    seen_ = all.size();
    return fresh;
  }

 private:
  std::vector<std::string> ids() const {
    std::vector<std::string> list;
    std::istringstream lines(file_text(path_));
    for (std::string line; std::getline(lines, line);)
      if (const auto json = nlohmann::json::parse(line, nullptr, false);
          json.is_object() && json.contains("id"))
        list.push_back(json["id"]);
    return list;
  }
  std::string path_;
  std::size_t seen_ = 0;
};

// A real mosquitto, and a listener whose session outlasts its restarts. A wrong password stands for 4xx; it
// has nothing like 5xx.
class BrokerEnd final : public ReceivingEnd {
 public:
  BrokerEnd() {
    set(Trouble::none);
    listener_ = ChildProcess({find_program("stdbuf"),
                              "-oL",
                              find_program("mosquitto_sub"),
                              "-d",
                              "-c",
                              "-i",
                              "ear",
                              "-q",
                              "1",
                              "-h",
                              "localhost",
                              "-p",
                              std::to_string(broker_.port()),
                              "--cafile",
                              broker_.ca_file(),
                              "-u",
                              "garden",
                              "-P",
                              "horse",
                              "-t",
                              "house/alert",
                              "-F",
                              "%p"},
                             heard_);
    EXPECT_TRUE(becomes_true([&] { return file_text(heard_).find("Subscribed") != std::string::npos; }));
  }
  std::string plugin() const override { return "mqtt"; }
  Json settings() const override {
    return {{"url", broker_.url()},
            {"topic", "house/alert"},
            {"username", "garden"},
            {"password_file", password_},
            {"ca_file", ca_}};
  }
  bool can(Trouble trouble) const override { return trouble != Trouble::later_5xx; }
  void set(Trouble trouble) override {
    fs::copy_file(trouble == Trouble::tls ? other_.ca_file() : broker_.ca_file(), ca_,
                  fs::copy_options::overwrite_existing);
    std::ofstream(password_) << (trouble == Trouble::later_4xx ? "wrong" : "horse");
    fs::permissions(password_, fs::perms::owner_read | fs::perms::owner_write);
    if (std::exchange(frozen_, trouble == Trouble::hang)) broker_.thaw();
    if (std::exchange(stopped_, trouble == Trouble::refuse)) broker_.start();
    if (stopped_) broker_.stop();
    if (frozen_) broker_.freeze();
  }
  std::vector<std::string> taken() override { return file_.taken(); }

 private:
  TemporaryDirectory directory_;
  Broker broker_{{.persistence = true, .passwords = {{"garden", "horse"}}, .tls = true}},
      other_{{.tls = true}};
  std::string ca_ = directory_ / "ca.pem", password_ = directory_ / "password", heard_ = directory_ / "heard";
  GrowingFile file_{heard_};
  ChildProcess listener_;
  bool stopped_ = false, frozen_ = false;
};

// A script. Status 75 (later) stands for 4xx; it knows no refused connection, no 5xx and no TLS.
class CommandEnd final : public ReceivingEnd {
 public:
  CommandEnd() {
    script_ = directory_.write("script",
                               "#!/bin/sh\n. " + (directory_ / "trouble") + "\ncat >>" +
                                   (directory_ / "heard") + "\necho >>" + (directory_ / "heard") + "\n",
                               0700);
    set(Trouble::none);
  }
  std::string plugin() const override { return "command"; }
  Json settings() const override { return {{"run", {script_}}}; }
  bool can(Trouble trouble) const override {
    return trouble == Trouble::none || trouble == Trouble::later_4xx || trouble == Trouble::hang;
  }
  void set(Trouble trouble) override {
    std::ofstream(directory_ / "trouble") << (trouble == Trouble::later_4xx ? "exit 75\n"
                                              : trouble == Trouble::hang    ? "sleep 3600\n"
                                                                            : "\n");
  }
  std::vector<std::string> taken() override { return file_.taken(); }

 private:
  TemporaryDirectory directory_;
  std::string script_;
  GrowingFile file_{directory_ / "heard"};
};

}  // namespace

std::string_view trouble_name(Trouble trouble) {
  constexpr std::string_view kNames[] = {"none", "refuse", "4xx", "5xx", "hang", "TLS error"};
  return kNames[static_cast<int>(trouble)];
}

std::unique_ptr<ReceivingEnd> receiving_end(const std::string& plugin) {
  if (plugin == "mqtt") return std::make_unique<BrokerEnd>();
  if (plugin == "command") return std::make_unique<CommandEnd>();
  return std::make_unique<ServerEnd>(plugin);
}

}  // namespace coilward
