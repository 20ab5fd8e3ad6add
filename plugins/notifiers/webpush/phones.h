// The phones (browsers) that asked to be told: one small file each in a directory of their own, mode 0600, so
// that the page may add one while the notifier takes away another. Thread: any.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace coilward_plugins {

inline constexpr std::size_t kMostPhones = 50;         // own choice: a household, a crew
inline constexpr std::size_t kLongestEndpoint = 1000;  // bytes; today's are some 200

struct Phone {
  std::string id;            // 16 hexadecimal digits, from the endpoint: the same phone has the same
  std::string endpoint;      // where its push service takes messages, https://
  std::string point;         // its public key (p256dh), 65 octets
  std::string secret;        // its authentication secret (auth), 16 octets
  std::string label;         // what people call it, one line
  std::int64_t since_s = 0;  // 1970-01-01T00:00:00Z
};

// What a browser's PushSubscription says of itself; keys in base64url.
struct PhoneWords {
  std::string_view endpoint, p256dh, auth, label;
};

class Phones {
 public:
  explicit Phones(std::string directory) : directory_(std::move(directory)) {}

  // By label. A file that cannot be read or understood is left out.
  std::vector<Phone> all() const;
  // Replaces the same phone. Throws std::invalid_argument with a sentence: no https endpoint, keys that are
  // none, too many; std::runtime_error: it cannot be written.
  Phone add(const PhoneWords& words, std::int64_t now_s) const;
  bool remove(std::string_view id) const;  // false: there is none

 private:
  std::optional<Phone> read(const std::string& id) const;
  std::string path(std::string_view id) const;
  std::string directory_;
};

}  // namespace coilward_plugins
