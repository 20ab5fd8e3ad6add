#include "plugins/notifiers/webpush/phones.h"

#include <fcntl.h>
#include <openssl/evp.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <stdexcept>

#include "plugins/notifiers/webpush/base64url.h"
#include "plugins/notifiers/webpush/push_body.h"
#include "plugins/notifiers/webpush/vapid.h"

namespace coilward_plugins {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;

constexpr std::size_t kIdSize = 16;        // hexadecimal digits
constexpr std::size_t kLongestLabel = 60;  // bytes

bool is_id(std::string_view text) {
  return text.size() == kIdSize && text.find_first_not_of("0123456789abcdef") == std::string_view::npos;
}

std::string id_of(std::string_view endpoint) {
  unsigned char hash[EVP_MAX_MD_SIZE];
  if (EVP_Digest(endpoint.data(), endpoint.size(), hash, nullptr, EVP_sha256(), nullptr) != 1)
    throw std::runtime_error("OpenSSL cannot hash");
  std::string id;
  for (std::size_t i = 0; i < kIdSize / 2; ++i)
    for (const int nibble : {hash[i] >> 4, hash[i] & 15}) id += "0123456789abcdef"[nibble];
  return id;
}

// One line, cut where a character of UTF-8 begins.
std::string clean_label(std::string_view text) {
  std::string label;
  for (const char c : text) {
    const bool begins = (static_cast<unsigned char>(c) & 0xc0) != 0x80;
    if (begins && label.size() + 4 > kLongestLabel) break;
    label += static_cast<unsigned char>(c) < 0x20 || c == 0x7f ? ' ' : c;
  }
  return label.empty() ? "a phone" : label;
}

Phone phone_of(const PhoneWords& words, std::int64_t now_s) {
  if (push_origin(words.endpoint).empty() || words.endpoint.size() > kLongestEndpoint)
    throw std::invalid_argument("the endpoint is no https address");
  const auto point = base64url_bytes(words.p256dh), secret = base64url_bytes(words.auth);
  if (!point || !secret) throw std::invalid_argument("the keys are not base64url");
  static_cast<void>(push_body("", *point, *secret));  // throws when nothing can be encrypted with them
  return {
      id_of(words.endpoint), std::string(words.endpoint), *point, *secret, clean_label(words.label), now_s};
}

void write_private(const std::string& path, const std::string& text) {
  std::string temporary = path + ".XXXXXX";
  const int fd = ::mkostemp(temporary.data(), O_CLOEXEC);  // mode 0600
  const bool written = fd >= 0 &&
                       ::write(fd, text.data(), text.size()) == static_cast<ssize_t>(text.size()) &&
                       ::fsync(fd) == 0 && ::rename(temporary.c_str(), path.c_str()) == 0;
  const int error = errno;
  if (fd >= 0) ::close(fd);
  if (written) return;
  if (fd >= 0) ::unlink(temporary.c_str());
  throw std::runtime_error("cannot write " + path + ": " + std::strerror(error));
}

}  // namespace

std::string Phones::path(std::string_view id) const { return directory_ + "/" + std::string(id) + ".json"; }

std::optional<Phone> Phones::read(const std::string& id) const {
  std::ifstream file(path(id));
  const Json json = Json::parse(file, nullptr, false);
  if (!json.is_object()) return std::nullopt;
  const auto text = [&](const char* key) {
    return json.contains(key) && json[key].is_string() ? json[key].get<std::string>() : std::string();
  };
  const auto point = base64url_bytes(text("p256dh")), secret = base64url_bytes(text("auth"));
  if (push_origin(text("endpoint")).empty() || !point || !secret || point->size() != kPointSize)
    return std::nullopt;
  const auto since = json.find("since_s");
  return Phone{id,
               text("endpoint"),
               *point,
               *secret,
               text("label"),
               since != json.end() && since->is_number_integer() ? since->get<std::int64_t>() : 0};
}

std::vector<Phone> Phones::all() const {
  std::vector<Phone> phones;
  std::error_code error;
  for (fs::directory_iterator it(directory_, error), end; !error && it != end; it.increment(error))
    if (it->path().extension() == ".json" && is_id(it->path().stem().string()))
      if (auto phone = read(it->path().stem())) phones.push_back(std::move(*phone));
  std::sort(phones.begin(), phones.end(),
            [](const Phone& a, const Phone& b) { return std::tie(a.label, a.id) < std::tie(b.label, b.id); });
  return phones;
}

Phone Phones::add(const PhoneWords& words, std::int64_t now_s) const {
  const Phone phone = phone_of(words, now_s);
  fs::create_directories(directory_);
  fs::permissions(directory_, fs::perms::owner_all);
  if (all().size() >= kMostPhones && !fs::exists(path(phone.id)))
    throw std::invalid_argument("there are 50 phones already: take one away first");
  const Json json = {{"endpoint", phone.endpoint},
                     {"p256dh", base64url(phone.point)},
                     {"auth", base64url(phone.secret)},
                     {"label", phone.label},
                     {"since_s", phone.since_s}};
  write_private(path(phone.id), json.dump(1, ' ', false, Json::error_handler_t::replace) + "\n");
  return phone;
}

bool Phones::remove(std::string_view id) const { return is_id(id) && ::unlink(path(id).c_str()) == 0; }

}  // namespace coilward_plugins
