#include "plugins/notifiers/mqtt/host_lookup.h"

#include <netdb.h>

#include <condition_variable>
#include <memory>
#include <mutex>
#include <optional>
#include <thread>

namespace coilward_plugins {
namespace {

struct Lookup {
  std::mutex mutex;
  std::condition_variable changed;
  std::optional<int> error;  // of getaddrinfo, when it is over
};

void look_up(const std::string& host, Lookup& lookup) {
  addrinfo hints{}, *found = nullptr;
  hints.ai_socktype = SOCK_STREAM;
  const int error = ::getaddrinfo(host.c_str(), nullptr, &hints, &found);
  if (error == 0) ::freeaddrinfo(found);
  std::lock_guard lock(lookup.mutex);
  lookup.error = error;
  lookup.changed.notify_all();
}

}  // namespace

std::string lookup_trouble(const std::string& host, std::chrono::steady_clock::time_point deadline,
                           const std::atomic<bool>& interrupted) {
  const auto lookup = std::make_shared<Lookup>();
  std::thread([host, lookup] { look_up(host, *lookup); }).detach();
  std::unique_lock lock(lookup->mutex);
  while (!lookup->error && !interrupted && std::chrono::steady_clock::now() < deadline)
    lookup->changed.wait_for(lock, std::chrono::milliseconds{50});
  if (interrupted) return "interrupted";
  if (!lookup->error) return "no answer in time: the name " + host + " is still being looked up";
  if (*lookup->error == 0) return {};
  return "no such host (DNS): " + host + ": " + ::gai_strerror(*lookup->error);
}

}  // namespace coilward_plugins
