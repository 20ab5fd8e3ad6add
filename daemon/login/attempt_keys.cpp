#include "daemon/login/attempt_keys.h"

#include "daemon/login/attempt_guard.h"
#include "daemon/login/secret.h"

namespace coilward {
namespace {

constexpr std::size_t kLongestTried = 200;

// Nobody fills the memory with long names, and capitals are no new name.
std::string name_key(const std::string& name) {
  std::string key = name.substr(0, kLongestTried);
  for (char& c : key) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c;
  return key;
}

std::string near_key(const std::string& name) { return "near " + name_key(name); }
std::string known_key(const std::string& name) { return "known " + name_key(name); }

}  // namespace

std::string known_browser(const Person& person) { return derived_secret(person.hash, "known browser"); }

// A browser that somebody has logged in with before is counted by itself: neither a stranger's attempts at
// the name nor those of a neighbour behind the same address make it wait.
AttemptKeys attempt_keys(const Person* person, const std::string& name, const std::string& address,
                         const std::string& known) {
  if (person && same_secret(known, known_browser(*person)))
    return {known_key(person->name), known_key(person->name), true};
  const bool near = is_near(address);
  return {address, near ? near_key(name) : name_key(name), near};
}

std::vector<std::string> name_keys(const std::string& name) {
  return {name_key(name), near_key(name), known_key(name)};
}

}  // namespace coilward
