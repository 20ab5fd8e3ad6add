#include "tests/broker/shipped_settings.h"

#include <filesystem>
#include <fstream>
#include <iterator>
#include <utility>

namespace coilward {
namespace {

std::string shipped(const std::string& name) {
  std::ifstream in(std::string(COILWARD_SOURCE_DIR) + "/config/" + name);
  return {std::istreambuf_iterator<char>(in), {}};
}

void replace_all(std::string& text, const std::string& from, const std::string& to) {
  for (std::size_t at = 0; (at = text.find(from, at)) != std::string::npos; at += to.size()) {
    text.replace(at, from.size(), to);
  }
}

}  // namespace

BrokerOptions with_shipped_settings(const TemporaryDirectory& etc) {
  std::filesystem::create_directory(etc / "conf.d");
  std::string settings = shipped("mosquitto.conf");
  replace_all(settings, "\nlistener 1883 127.0.0.1\n", "\n");
  replace_all(settings, "/etc/mosquitto", etc.path());
  std::ofstream(etc / "conf.d/coilward.conf") << settings;
  std::string access = shipped("mosquitto.acl");
  replace_all(access, "juniper-row-12", "juniper");
  std::ofstream(etc / "coilward.acl") << access;
  std::ofstream(etc / "passwords").close();
  for (const auto& [user, password] :
       {std::pair{"coilward", "one"}, std::pair{"sensors", "two"}, std::pair{"readers", "three"}})
    run_to_end({find_program("mosquitto_passwd"), "-b", etc / "passwords", user, password});
  BrokerOptions options;
  options.persistence = true;
  options.extra = "include_dir " + (etc / "conf.d") + "\n";
  return options;
}

}  // namespace coilward
