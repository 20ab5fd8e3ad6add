// Asks the page of a running daemon over TCP, as a browser does. For the tests of this folder.
#pragma once

#include <curl/curl.h>

#include <map>
#include <string>
#include <vector>

namespace coilward {

struct PageAnswer {
  long status = 0;  // 0: nobody answered
  std::string head, body;
  std::map<std::string, std::string> cookies;  // set by it
  std::string serial;                          // of the certificate, as hexadecimal text
};

class Browser {
 public:
  // address: "http://127.0.0.1:8470", "https://..." (whoever signed the certificate).
  explicit Browser(std::string address) : address_(std::move(address)), curl_(curl_easy_init()) {}
  ~Browser() { curl_easy_cleanup(curl_); }
  Browser(const Browser&) = delete;

  PageAnswer get(const std::string& path) { return ask(path, nullptr); }
  // An answer without an end, as far as `until`; the rest is not waited for.
  PageAnswer listen(const std::string& path, const std::string& until) {
    until_ = until;
    PageAnswer answer = ask(path, nullptr);
    until_.clear();
    return answer;
  }
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
  std::vector<std::string> fields;         // of each request's header, beside the usual ones

 private:
  static std::size_t append(char* data, std::size_t, std::size_t size, void* text) {
    static_cast<std::string*>(text)->append(data, size);
    return size;
  }
  struct Heard {
    std::string* text;
    const std::string* until;
  };
  // Less than what came: curl ends the request.
  static std::size_t hear(char* data, std::size_t, std::size_t size, void* into) {
    const Heard& heard = *static_cast<Heard*>(into);
    heard.text->append(data, size);
    return heard.until->empty() || heard.text->find(*heard.until) == std::string::npos ? size : 0;
  }
  void note_serial(PageAnswer& answer) {
    curl_certinfo* chain = nullptr;
    if (curl_easy_getinfo(curl_, CURLINFO_CERTINFO, &chain) != CURLE_OK || chain->num_of_certs == 0) return;
    const std::string before = "Serial Number:";
    for (const curl_slist* line = chain->certinfo[0]; line; line = line->next)
      if (const std::string text = line->data; text.starts_with(before))
        answer.serial = text.substr(before.size());
  }
  PageAnswer ask(const std::string& path, const std::string* body) {
    PageAnswer answer;
    Heard heard{&answer.body, &until_};
    curl_easy_reset(curl_);
    std::string cookies;
    for (const auto& [name, value] : jar) cookies += name + "=" + value + "; ";
    curl_slist* headers = curl_slist_append(nullptr, ("Origin: " + address_).c_str());
    for (const std::string& field : fields) headers = curl_slist_append(headers, field.c_str());
    curl_easy_setopt(curl_, CURLOPT_CERTINFO, 1L);
    curl_easy_setopt(curl_, CURLOPT_FRESH_CONNECT, 1L);
    curl_easy_setopt(curl_, CURLOPT_URL, (address_ + path).c_str());
    curl_easy_setopt(curl_, CURLOPT_PROXY, "");
    curl_easy_setopt(curl_, CURLOPT_TIMEOUT, 20L);
    curl_easy_setopt(curl_, CURLOPT_SSL_VERIFYPEER, 0L);
    curl_easy_setopt(curl_, CURLOPT_SSL_VERIFYHOST, 0L);
    curl_easy_setopt(curl_, CURLOPT_HTTPHEADER, headers);
    curl_easy_setopt(curl_, CURLOPT_WRITEFUNCTION, &Browser::hear);
    curl_easy_setopt(curl_, CURLOPT_WRITEDATA, &heard);
    curl_easy_setopt(curl_, CURLOPT_HEADERFUNCTION, &Browser::append);
    curl_easy_setopt(curl_, CURLOPT_HEADERDATA, &answer.head);
    if (!cookies.empty()) curl_easy_setopt(curl_, CURLOPT_COOKIE, cookies.c_str());
    if (body) curl_easy_setopt(curl_, CURLOPT_COPYPOSTFIELDS, body->c_str());
    const CURLcode done = curl_easy_perform(curl_);
    if (done == CURLE_OK || (done == CURLE_WRITE_ERROR && !until_.empty()))
      curl_easy_getinfo(curl_, CURLINFO_RESPONSE_CODE, &answer.status);
    note_serial(answer);
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
  std::string until_;
  CURL* curl_;
};

}  // namespace coilward
