// What a push message looks like on the way: RFC 8291 (message encryption for web push) in the one record of
// RFC 8188 (aes128gcm) that push services take.
#pragma once

#include <string>
#include <string_view>

#include "plugins/notifiers/webpush/push_key.h"

namespace coilward_plugins {

inline constexpr std::size_t kSaltSize = 16;    // RFC 8188 section 2.1
inline constexpr std::size_t kSecretSize = 16;  // RFC 8291 section 3.2
inline constexpr std::size_t kRecordSize = 4096;
// RFC 8291 section 4: a push service need not take more than 4096 octets: header 86, delimiter 1, tag 16.
inline constexpr std::size_t kMostPlain = 3993;

// phone_point and phone_secret: of the subscription (p256dh, auth). sender: made for this one message; salt:
// kSaltSize random octets. Throws std::invalid_argument when the subscription's key is none or the text is
// too long. Thread: any.
std::string push_body(std::string_view text, std::string_view phone_point, std::string_view phone_secret,
                      const PushKey& sender, std::string_view salt);

// The same with a key and a salt of its own.
std::string push_body(std::string_view text, std::string_view phone_point, std::string_view phone_secret);

}  // namespace coilward_plugins
