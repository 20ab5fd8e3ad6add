// Asks the page of a running daemon over TCP, as a browser does. For the tests of this folder.
#pragma once

#include <curl/curl.h>

#include <map>
#include <string>

namespace coilward {

struct PageAnswer {
  long status = 0;  // 0: nobody answered
  std::string head, body;
  std::map<std::string, std::string> cookies;  // set by it
};

class Browser {
 public:
  // address: "http://127.0.0.1:8470", "https://..." (whoever signed the certificate).
  explicit Browser(std::string address) : address_(std::move(address)), curl_(curl_easy_init()) {}
  ~Browser() { curl_easy_cleanup(curl_); }
  Browser(const Browser&) = delete;

  PageAnswer get(const std::string& path) { return ask(path, nullptr); }
  PageAnswer post(const std::string& path, const std::string& body) { return ask(path, &body); }
  // The value of the hidden field of a page's forms.
  std::string token(const std::string& path) {
    const std::string page = get(path).body, before = "name=\"token\" value=\"";
    const auto at = page.find(before);
    return at == std::string::npos ? "" : page.substr(at + before.size(), 32);
  }
  PageAnswer log_in(const std::string& name, const std::string& password) {
    const std::string with = token("/login");
    return post("/login", "token=" + with + "&name=" + encoded(name) + "&password=" + encoded(password));
  }
  std::string encoded(const std::string& text) {
    char* escaped = curl_easy_escape(curl_, text.c_str(), static_cast<int>(text.size()));
    std::string out = escaped;
    curl_free(escaped);
    return out;
  }
  std::map<std::string, std::string> jar;  // what it sends back

 private:
  static std::size_t append(char* data, std::size_t, std::size_t size, void* text) {
    static_cast<std::string*>(text)->append(data, size);
    return size;
  }
  PageAnswer ask(const std::string& path, const std::string* body) {
    PageAnswer answer;
    curl_easy_reset(curl_);
    std::string cookies;
    for (const auto& [name, value] : jar) cookies += name + "=" + value + "; ";
    curl_slist* headers = curl_slist_append(nullptr, ("Origin: " + address_).c_str());
    curl_easy_setopt(curl_, CURLOPT_URL, (address_ + path).c_str());
    curl_easy_setopt(curl_, CURLOPT_PROXY, "");
    curl_easy_setopt(curl_, CURLOPT_TIMEOUT, 20L);
    curl_easy_setopt(curl_, CURLOPT_SSL_VERIFYPEER, 0L);
    curl_easy_setopt(curl_, CURLOPT_HTTPHEADER, headers);
    curl_easy_setopt(curl_, CURLOPT_WRITEFUNCTION, &Browser::append);
    curl_easy_setopt(curl_, CURLOPT_WRITEDATA, &answer.body);
    curl_easy_setopt(curl_, CURLOPT_HEADERFUNCTION, &Browser::append);
    curl_easy_setopt(curl_, CURLOPT_HEADERDATA, &answer.head);
    if (!cookies.empty()) curl_easy_setopt(curl_, CURLOPT_COOKIE, cookies.c_str());
    if (body) curl_easy_setopt(curl_, CURLOPT_COPYPOSTFIELDS, body->c_str());
    if (curl_easy_perform(curl_) == CURLE_OK)
      curl_easy_getinfo(curl_, CURLINFO_RESPONSE_CODE, &answer.status);
    curl_slist_free_all(headers);
    keep_cookies(answer);
    return answer;
  }
  void keep_cookies(PageAnswer& answer) {
    const std::string field = "\r\nSet-Cookie: ";
    for (auto at = answer.head.find(field); at != std::string::npos; at = answer.head.find(field, at + 1)) {
      const auto name = at + field.size(), equals = answer.head.find('=', name),
                 end = answer.head.find(';', equals);
      const std::string key = answer.head.substr(name, equals - name);
      jar[key] = answer.cookies[key] = answer.head.substr(equals + 1, end - equals - 1);
    }
  }

  const std::string address_;
  CURL* curl_;
};

}  // namespace coilward
