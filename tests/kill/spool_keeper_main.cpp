// The smallest program that keeps its promise to the broker: client, spool, and a text file as its store, one
// line a message: sequence number, DUP flag, payload. For being killed at any moment.
//
//   spool_keeper URL SITE SPOOL_DIRECTORY STORE_FILE [die-on-arrival]
//
// die-on-arrival: ends by SIGKILL on the message thread, when a message is in the spool and not yet
// acknowledged.
#include <fcntl.h>
#include <unistd.h>

#include <charconv>
#include <csignal>
#include <fstream>
#include <iostream>
#include <iterator>
#include <semaphore>

#include "daemon/mqtt/client.h"
#include "daemon/mqtt/spool.h"

namespace coilward {
namespace {

std::binary_semaphore arrived{0};
volatile std::sig_atomic_t stop_asked = 0;

// Lines that are whole; the rest of a line that a kill cut short is taken away.
std::uint64_t last_stored(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  std::string text{std::istreambuf_iterator<char>(in), {}};
  const std::size_t end = text.rfind('\n');
  text.resize(end == std::string::npos ? 0 : end + 1);
  if (!text.empty() && ::truncate(path.c_str(), static_cast<off_t>(text.size())) != 0) return 0;
  const std::size_t line = text.size() < 2 ? 0 : text.rfind('\n', text.size() - 2) + 1;
  std::uint64_t sequence = 0;
  std::from_chars(text.data() + line, text.data() + text.size(), sequence);
  return sequence;
}

class Store {
 public:
  explicit Store(const std::string& path)
      : last_(last_stored(path)),
        file_(::open(path.c_str(), O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600)) {}
  std::uint64_t last() const { return last_; }

  bool take_from(Spool& spool) {
    std::string lines;
    const std::size_t count = spool.read(last_, 500, [&](const Message& m) {
      lines += std::to_string(m.sequence) + (m.duplicate ? " 1 " : " 0 ") + std::string(m.payload) + "\n";
      last_ = m.sequence;
    });
    if (::write(file_, lines.data(), lines.size()) != static_cast<ssize_t>(lines.size())) ::abort();
    spool.trim(last_);
    return count > 0;
  }

 private:
  std::uint64_t last_;
  int file_;
};

int keep(char** arguments, bool die) {
  Store store(arguments[4]);
  auto opened = Spool::open(arguments[3], 64 << 20, store.last() + 1);
  if (!opened) return std::cerr << opened.error().what << "\n", 1;
  const std::shared_ptr<Spool> spool = std::move(*opened);
  spool->on_arrival([die] {
    if (die) ::raise(SIGKILL);
    arrived.release();
  });
  ClientOptions options;
  options.mqtt.url = arguments[1];
  options.site = arguments[2];
  options.version = "0";
  options.filters = {"coilward/" + options.site + "/measure/#"};
  options.first_delay = std::chrono::milliseconds(50);
  const SystemClock clock;
  auto client = Client::create(options, spool, clock);
  if (!client) return std::cerr << client.error().what << "\n", 1;
  (*client)->start();
  while (stop_asked == 0) {
    while (store.take_from(*spool)) continue;
    if (arrived.try_acquire_for(std::chrono::milliseconds(100))) continue;
  }
  const bool clean = (*client)->stop();
  while (store.take_from(*spool)) continue;
  ::_exit(clean ? 0 : 1);
}

}  // namespace
}  // namespace coilward

int main(int count, char** arguments) {
  if (count < 5) return 2;
  std::signal(SIGTERM, [](int) { coilward::stop_asked = 1; });
  return coilward::keep(arguments, count > 5 && std::string_view(arguments[5]) == "die-on-arrival");
}
