// Slows down who guesses passwords: after a few attempts each further one has to wait, longer each time, by
// address and by name. Only in memory. Thread: one.
#pragma once

#include <chrono>
#include <map>
#include <string>

namespace coilward {

class AttemptGuard {
 public:
  using Time = std::chrono::steady_clock::time_point;
  using Seconds = std::chrono::seconds;

  // How long an attempt from there has to wait; 0: it may be made now, and counts as failed until
  // succeeded().
  Seconds begin(const std::string& address, const std::string& name, Time now);
  void succeeded(const std::string& address, const std::string& name);
  // Somebody who may do so has set the name's password anew.
  void forget_name(const std::string& name);

 private:
  struct Attempts {
    int failed = 0;
    Time last, next;  // when it was; not before
  };
  using Book = std::map<std::string, Attempts>;
  static void note(Attempts& attempts, Seconds longest, Time now);
  static void make_room(Book& book, Time now);
  static Seconds wait(const Book& book, const std::string& key, Time now);

  Book addresses_, names_;
};

// An IPv6 customer has a whole /64 to guess from: all of it is one address here. Others stay as they are.
std::string guessing_address(const std::string& address);
// Of a private network (RFC 1918, RFC 4193), of the link or of this machine. Attempts from there and from
// elsewhere are counted apart under one name: who tries from the Internet makes nobody at home wait.
bool is_near(const std::string& address);

}  // namespace coilward
