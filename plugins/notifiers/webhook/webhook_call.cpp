#include "plugins/notifiers/webhook/webhook_call.h"

#include <openssl/evp.h>
#include <openssl/hmac.h>

#include <algorithm>
#include <ctime>
#include <stdexcept>

#include "plugins/common/secret_file.h"

namespace coilward_plugins {
namespace {

using Json = nlohmann::json;

constexpr std::size_t kMostAnswer = 500;  // bytes of the answer that are kept as its words

std::size_t keep_some(char* data, std::size_t size, std::size_t count, void* self) {
  auto& answer = *static_cast<std::string*>(self);
  answer.append(data, std::min(size * count, kMostAnswer - std::min(kMostAnswer, answer.size())));
  return size * count;
}

void check(const std::string& url) {
  if (!url.starts_with("https://") && !url.starts_with("http://"))
    throw std::invalid_argument("url must begin with https:// or http://, found \"" + url + "\"");
  const auto host = url.find("://") + 3;
  const auto path = std::min(url.size(), url.find('/', host));
  if (url.substr(host, path - host).find('@') != std::string::npos)
    throw std::invalid_argument("url must not hold a name or password: use token_file");
}

// Header values from outside: what could start another header is left out.
std::string header_value(std::string_view text) {
  std::string value;
  for (char c : text)
    if (static_cast<unsigned char>(c) >= 0x20 && static_cast<unsigned char>(c) < 0x7f) value += c;
  return value;
}

}  // namespace

std::string signature(std::string_view key, std::string_view timestamp, std::string_view body) {
  const std::string text = std::string(timestamp) + "." + std::string(body);
  unsigned char mac[EVP_MAX_MD_SIZE];
  unsigned size = 0;
  HMAC(EVP_sha256(), key.data(), static_cast<int>(key.size()),
       reinterpret_cast<const unsigned char*>(text.data()), text.size(), mac, &size);
  std::string hex;
  for (unsigned i = 0; i < size; ++i) {
    hex += "0123456789abcdef"[mac[i] >> 4];
    hex += "0123456789abcdef"[mac[i] & 15];
  }
  return hex;
}

Webhook::Webhook(const Json& json)
    : url_(json.value("url", "")),
      secret_file_(json.value("secret_file", "")),
      token_file_(json.value("token_file", "")),
      ca_file_(json.value("ca_file", "")) {
  check(url_);
}

Reply Webhook::deliver(std::string_view alert_json, double timeout_s) {
  Json alert = Json::parse(alert_json, nullptr, false);
  if (!alert.is_object()) return {COILWARD_REFUSED, "the alert is not a JSON object"};
  const auto left = std::chrono::ceil<std::chrono::seconds>(not_before_ - std::chrono::steady_clock::now());
  if (left.count() > 0)
    return {COILWARD_RETRY,
            "the other side asked to wait; not sent for " + std::to_string(left.count()) + " s more"};
  alert["version"] = kBodyVersion;
  return post(alert.dump(-1, ' ', false, Json::error_handler_t::replace), alert.value("id", ""), timeout_s);
}

Reply Webhook::post(const std::string& body, const std::string& id, double timeout_s) {
  Secret key, token;
  if (!secret_file_.empty()) key = read_secret(secret_file_);
  if (!token_file_.empty()) token = read_secret(token_file_);
  if (!key.wrong.empty() || !token.wrong.empty())
    return {COILWARD_RETRY, key.wrong.empty() ? token.wrong : key.wrong};
  const CurlHandle handle(curl_easy_init());
  if (!handle) return {COILWARD_RETRY, "out of memory"};
  CURL* curl = handle.get();
  const std::string timestamp = std::to_string(std::time(nullptr));
  CurlList headers;
  add(headers, "Content-Type: application/json");
  add(headers, "Expect:");
  add(headers, "Idempotency-Key: " + header_value(id));
  add(headers, "X-Coilward-Timestamp: " + timestamp);
  if (!key.value.empty())
    add(headers, "X-Coilward-Signature: sha256=" + signature(key.value, timestamp, body));
  if (!token.value.empty()) add(headers, "Authorization: Bearer " + token.value);
  std::string answer;
  curl_easy_setopt(curl, CURLOPT_URL, url_.c_str());
  curl_easy_setopt(curl, CURLOPT_POSTFIELDS, body.c_str());
  curl_easy_setopt(curl, CURLOPT_POSTFIELDSIZE_LARGE, static_cast<curl_off_t>(body.size()));
  curl_easy_setopt(curl, CURLOPT_HTTPHEADER, headers.get());
  curl_easy_setopt(curl, CURLOPT_USERAGENT, "coilward");
  curl_easy_setopt(curl, CURLOPT_FOLLOWLOCATION, 0L);
  curl_easy_setopt(curl, CURLOPT_WRITEFUNCTION, keep_some);
  curl_easy_setopt(curl, CURLOPT_WRITEDATA, &answer);
  const CallResult call = calls_.run(curl, "http,https", ca_file_, timeout_s);
  Reply reply = judge(curl, call, answer);
  reply.words = without_secret(without_secret(std::move(reply.words), key.value), token.value);
  return reply;
}

Reply Webhook::judge(CURL* handle, const CallResult& call, const std::string& answer) {
  long status = 0;
  curl_easy_getinfo(handle, CURLINFO_RESPONSE_CODE, &status);
  // An answer that breaks off after its status line still is one.
  if (call.interrupted || (call.code != CURLE_OK && status == 0)) return {COILWARD_RETRY, call.error};
  std::string words = "HTTP " + std::to_string(status) + (answer.empty() ? "" : ": " + answer);
  if (status >= 200 && status < 300) return {COILWARD_DONE, words};
  if (status >= 300 && status < 400) return {COILWARD_REFUSED, words + " (redirections are not followed)"};
  if (status < 500 && status != 408 && status != 425 && status != 429) return {COILWARD_REFUSED, words};
  curl_off_t asked = 0;
  curl_easy_getinfo(handle, CURLINFO_RETRY_AFTER, &asked);
  if (asked <= 0) return {COILWARD_RETRY, words};
  const auto wait = std::min(kLongestAskedWait, std::chrono::seconds{asked});
  not_before_ = std::chrono::steady_clock::now() + wait;
  return {COILWARD_RETRY, words + " (asks to wait " + std::to_string(wait.count()) + " s)"};
}

}  // namespace coilward_plugins
