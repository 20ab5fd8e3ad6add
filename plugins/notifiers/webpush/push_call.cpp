#include "plugins/notifiers/webpush/push_call.h"

#include <fmt/format.h>
#include <openssl/evp.h>

#include <algorithm>
#include <ctime>
#include <filesystem>
#include <stdexcept>

#include "plugins/notifiers/webpush/base64url.h"
#include "plugins/notifiers/webpush/push_body.h"
#include "plugins/notifiers/webpush/vapid.h"

namespace coilward_plugins {
namespace {

using Json = nlohmann::json;
using std::chrono::steady_clock;

constexpr std::size_t kMostAnswer = 300;    // bytes of an answer that are kept as its words
constexpr std::size_t kAlertsInMind = 100;  // whose phones are remembered

std::size_t keep_some(char* data, std::size_t size, std::size_t count, void* self) {
  auto& answer = *static_cast<std::string*>(self);
  answer.append(data, std::min(size * count, kMostAnswer - std::min(kMostAnswer, answer.size())));
  return size * count;
}

// RFC 8030 section 5.3.
std::string urgency(const Json& alert) {
  const std::string severity = alert.value("severity", "");
  return severity == "urgent" ? "high" : severity == "soon" ? "normal" : "low";
}

// RFC 8030 section 5.4: a phone that was off gets the latest about one thing only. At most 32 characters.
std::string topic(const std::string& tag) {
  unsigned char hash[EVP_MAX_MD_SIZE];
  EVP_Digest(tag.data(), tag.size(), hash, nullptr, EVP_sha256(), nullptr);
  return base64url({reinterpret_cast<const char*>(hash), 24});
}

CurlList fields_of(const Json& alert, const std::string& words, const std::string& authorization) {
  CurlList fields;
  add(fields, "Content-Type: application/octet-stream");
  add(fields, "Content-Encoding: aes128gcm");
  add(fields, "Expect:");
  add(fields, "TTL: " + std::to_string(kPushKeepS));
  add(fields, "Urgency: " + urgency(alert));
  add(fields, "Topic: " + topic(Json::parse(words).value("tag", "")));
  add(fields, "Authorization: " + authorization);
  return fields;
}

std::string beside(const std::string& directory, const char* name) {
  return (std::filesystem::path(directory).parent_path() / name).string();
}

}  // namespace

WebPush::WebPush(const Json& settings, Host host)
    : phones_(settings.value("directory", "")),
      key_file_(settings.value("key_file", "")),
      contact_(settings.value("contact", "")),
      ca_file_(settings.value("ca_file", "")),
      host_(host) {
  const std::string directory = settings.value("directory", "");
  if (!directory.starts_with('/'))
    throw std::invalid_argument("directory must be an absolute path, found \"" + directory + "\"");
  if (key_file_.empty()) key_file_ = beside(directory, "vapid.pem");
  if (!contact_.starts_with("mailto:") && !contact_.starts_with("https://"))
    throw std::invalid_argument("contact must begin with mailto: or https://, found \"" + contact_ + "\"");
}

void WebPush::interrupt() noexcept {
  interrupted_ = true;
  calls_.interrupt();
}

Reply WebPush::deliver(std::string_view alert_json, double timeout_s) {
  interrupted_ = false;
  const Json alert = Json::parse(alert_json, nullptr, false);
  if (!alert.is_object()) return {COILWARD_REFUSED, "the alert is not a JSON object"};
  const auto phones = phones_.all();
  if (phones.empty())
    return {COILWARD_RETRY,
            "no phone asked to be told yet: open the page on it and press \"Tell this phone\""};
  const Tally tally = tell_all(phones, alert, timeout_s);
  if (interrupted_) return {COILWARD_RETRY, "interrupted"};
  const std::string words = fmt::format("{} of {} told; {}", tally.told, phones.size(),
                                        tally.trouble.empty() ? tally.words : tally.trouble);
  if (tally.later > 0) return {COILWARD_RETRY, words};
  if (tally.told > 0) return {COILWARD_DONE, words};
  if (tally.never > 0) return {COILWARD_REFUSED, words};
  return {COILWARD_RETRY, words + "; no phone is left: press \"Tell this phone\" again"};
}

// One that hangs leaves the others their share of the time.
WebPush::Tally WebPush::tell_all(const std::vector<Phone>& phones, const Json& alert, double timeout_s) {
  const PushKey key = PushKey::read_or_make(key_file_);
  const bool test = alert.value("kind", "") == "test";  // told to everybody each time
  const std::string id = test ? std::string() : alert.value("id", "");
  const auto deadline = steady_clock::now() + std::chrono::duration<double>(timeout_s);
  Tally tally;
  std::size_t left = phones.size();
  for (const Phone& phone : phones) {
    if (interrupted_) break;
    const std::chrono::duration<double> time = deadline - steady_clock::now();
    const double share = std::max(0.1, time.count() / static_cast<double>(left--));
    if (!id.empty() && settled_for(id).contains(phone.id))
      ++tally.told;
    else
      settle(phone, tell(phone, alert, key, share), id, tally);
  }
  return tally;
}

// The phones that an alert is done with: told, or refused for good.
std::set<std::string>& WebPush::settled_for(const std::string& id) {
  const auto it =
      std::find_if(settled_.begin(), settled_.end(), [&](const auto& one) { return one.first == id; });
  if (it != settled_.end()) return it->second;
  if (settled_.size() == kAlertsInMind) settled_.erase(settled_.begin());
  return settled_.emplace_back(id, std::set<std::string>()).second;
}

void WebPush::settle(const Phone& phone, const Answer& answer, const std::string& id, Tally& tally) {
  if (answer.told == Told::yes) {
    ++tally.told;
    tally.words = answer.words;
  } else {
    tally.trouble = fmt::format("{}: {}", phone.label, answer.words);
  }
  if (answer.told == Told::gone) {
    phones_.remove(phone.id);
    host_.info(fmt::format("the phone \"{}\" is no more, and is taken away: {}", phone.label, answer.words));
  }
  if (answer.told == Told::never) ++tally.never;
  if (answer.told == Told::later) ++tally.later;
  if (!id.empty() && (answer.told == Told::yes || answer.told == Told::never))
    settled_for(id).insert(phone.id);
}

WebPush::Answer WebPush::tell(const Phone& phone, const Json& alert, const PushKey& key, double timeout_s) {
  const auto wait = std::chrono::ceil<std::chrono::seconds>(not_before_[phone.id] - steady_clock::now());
  if (wait.count() > 0)
    return {Told::later, fmt::format("its push service asked to wait; not sent for {} s more", wait.count())};
  const CurlHandle handle(curl_easy_init());
  if (!handle) return {Told::later, "out of memory"};
  CURL* curl = handle.get();
  const std::string words = push_words(alert);
  const std::string body = push_body(words, phone.point, phone.secret);
  const CurlList fields =
      fields_of(alert, words, vapid_field(key, push_origin(phone.endpoint), contact_, std::time(nullptr)));
  std::string answer;
  curl_easy_setopt(curl, CURLOPT_URL, phone.endpoint.c_str());
  curl_easy_setopt(curl, CURLOPT_POSTFIELDS, body.data());
  curl_easy_setopt(curl, CURLOPT_POSTFIELDSIZE_LARGE, static_cast<curl_off_t>(body.size()));
  curl_easy_setopt(curl, CURLOPT_HTTPHEADER, fields.get());
  curl_easy_setopt(curl, CURLOPT_USERAGENT, "coilward");
  curl_easy_setopt(curl, CURLOPT_FOLLOWLOCATION, 0L);
  curl_easy_setopt(curl, CURLOPT_WRITEFUNCTION, keep_some);
  curl_easy_setopt(curl, CURLOPT_WRITEDATA, &answer);
  const CallResult call = calls_.run(curl, "https", ca_file_, timeout_s);
  return judge(curl, call, phone, answer);
}

// RFC 8030 sections 5 and 7.3: 201 is taken; 404 and 410 say that the subscription is over.
WebPush::Answer WebPush::judge(CURL* handle, const CallResult& call, const Phone& phone,
                               const std::string& answer) {
  long status = 0;
  curl_easy_getinfo(handle, CURLINFO_RESPONSE_CODE, &status);
  if (call.interrupted || (call.code != CURLE_OK && status == 0)) return {Told::later, call.error};
  const std::string words = fmt::format("HTTP {}{}{}", status, answer.empty() ? "" : ": ", answer);
  if (status >= 200 && status < 300) return {Told::yes, words};
  if (status == 404 || status == 410) return {Told::gone, words};
  if (status < 500 && status != 408 && status != 425 && status != 429) return {Told::never, words};
  curl_off_t asked = 0;
  curl_easy_getinfo(handle, CURLINFO_RETRY_AFTER, &asked);
  if (asked <= 0) return {Told::later, words};
  const auto wait = std::min(kLongestPushWait, std::chrono::seconds{asked});
  not_before_[phone.id] = steady_clock::now() + wait;
  return {Told::later, fmt::format("{} (asks to wait {} s)", words, wait.count())};
}

}  // namespace coilward_plugins
