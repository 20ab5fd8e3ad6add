#include "daemon/login/attempt_guard.h"

#include <arpa/inet.h>

#include <algorithm>
#include <cstdint>

namespace coilward {
namespace {

using std::chrono::seconds;

// Own choice. Three free attempts for slips, then 1, 2, 4 ... seconds. A name waits half a minute at most, so
// that a stranger cannot shut its owner out for good; an address up to a quarter of an hour.
constexpr int kFree = 3;
constexpr seconds kLongestForName{30}, kLongestForAddress{900};
constexpr std::size_t kMostKept = 2000;
constexpr std::chrono::hours kForgotten{24};

}  // namespace

AttemptGuard::Seconds AttemptGuard::wait(const Book& book, const std::string& key, Time now) {
  const auto it = book.find(key);
  if (it == book.end() || it->second.next <= now) return Seconds{0};
  return std::chrono::ceil<Seconds>(it->second.next - now);
}

void AttemptGuard::note(Attempts& attempts, Seconds longest, Time now) {
  if (now - attempts.last > kForgotten) attempts.failed = 0;
  attempts.last = now;
  const int beyond = ++attempts.failed - kFree;
  attempts.next = now + (beyond < 0 ? Seconds{0} : std::min(longest, Seconds{1LL << std::min(beyond, 20)}));
}

// Those whose wait is over first go first.
void AttemptGuard::make_room(Book& book, Time now) {
  if (book.size() < kMostKept) return;
  std::erase_if(book, [now](const auto& entry) { return now - entry.second.last > kForgotten; });
  if (book.size() < kMostKept) return;
  book.erase(std::min_element(book.begin(), book.end(),
                              [](const auto& a, const auto& b) { return a.second.next < b.second.next; }));
}

AttemptGuard::Seconds AttemptGuard::begin(const std::string& address, const std::string& name, Time now) {
  const std::string from = guessing_address(address);
  const Seconds left = std::max(wait(addresses_, from, now), wait(names_, name, now));
  if (left > Seconds{0}) return left;
  make_room(addresses_, now);
  make_room(names_, now);
  note(addresses_.try_emplace(from, Attempts{0, now, now}).first->second, kLongestForAddress, now);
  note(names_.try_emplace(name, Attempts{0, now, now}).first->second, kLongestForName, now);
  return Seconds{0};
}

// The address is forgiven this one only: who knows one password may still be guessing another's.
void AttemptGuard::succeeded(const std::string& address, const std::string& name) {
  names_.erase(name);
  const auto it = addresses_.find(guessing_address(address));
  if (it == addresses_.end()) return;
  it->second.failed = std::max(0, it->second.failed - 1);
  it->second.next = it->second.last;
  if (it->second.failed == 0) addresses_.erase(it);
}

void AttemptGuard::forget_name(const std::string& name) { names_.erase(name); }

bool is_near(const std::string& address) {
  in_addr v4{};
  if (::inet_pton(AF_INET, address.c_str(), &v4) == 1) {
    const std::uint32_t a = ntohl(v4.s_addr);
    return a >> 24 == 10 || a >> 24 == 127 || a >> 20 == 0xAC1 || a >> 16 == 0xC0A8 || a >> 16 == 0xA9FE;
  }
  in6_addr v6{};
  if (::inet_pton(AF_INET6, address.c_str(), &v6) != 1) return false;
  return IN6_IS_ADDR_LOOPBACK(&v6) || IN6_IS_ADDR_LINKLOCAL(&v6) || (v6.s6_addr[0] & 0xFE) == 0xFC;
}

std::string guessing_address(const std::string& address) {
  in6_addr v6{};
  if (::inet_pton(AF_INET6, address.c_str(), &v6) != 1 || IN6_IS_ADDR_V4MAPPED(&v6)) return address;
  std::fill(v6.s6_addr + 8, v6.s6_addr + 16, 0);
  char text[INET6_ADDRSTRLEN];
  return std::string(::inet_ntop(AF_INET6, &v6, text, sizeof text)) + "/64";
}

}  // namespace coilward
