// By what somebody's attempts to log in are counted (attempt_guard.h): a stranger's at a name make neither a
// known browser nor somebody nearby wait. Thread: any.
#pragma once

#include <string>
#include <vector>

#include "daemon/login/login_book.h"

namespace coilward {

// The same for a wrong password and for a name that nobody has.
inline constexpr const char* kWrongLogin = "This name and this password do not go together.";

struct AttemptKeys {
  std::string address, name;
  bool familiar = false;  // a known browser, or from near
};

// person: who has that name; nullptr: nobody. known: what a login has given the browser.
AttemptKeys attempt_keys(const Person* person, const std::string& name, const std::string& address,
                         const std::string& known);
// Every key under which attempts at a name may be counted.
std::vector<std::string> name_keys(const std::string& name);
// What a login gives the browser. It follows from the password's hash, so that a new password makes it void.
// It lets nobody in.
std::string known_browser(const Person& person);

}  // namespace coilward
