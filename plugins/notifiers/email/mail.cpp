#include "plugins/notifiers/email/mail.h"

#include <algorithm>
#include <ctime>
#include <map>
#include <set>
#include <stdexcept>
#include <utility>

#include "plugins/common/secret_file.h"
#include "plugins/notifiers/email/mail_html.h"
#include "plugins/notifiers/email/mail_text.h"

namespace coilward_plugins {
namespace {

using Json = nlohmann::json;

// What the server said, line by line: libcurl hands SMTP replies to the header callback.
struct Conversation {
  CURL* handle;
  std::string last;     // reply line, without the line end
  std::string failure;  // the latest 4xx or 5xx line
  bool data_begun = false;
  std::string asked;                           // the recipient that was named last
  std::map<std::string, std::string> answers;  // to each recipient

  void say(std::string_view command) {
    const auto open = command.find('<'), close = command.find('>');
    if (command.starts_with("RCPT TO:") && close != std::string_view::npos)
      asked = command.substr(open + 1, close - open - 1);
  }
  std::set<std::string> answered_with(char first) const {
    std::set<std::string> list;
    for (const auto& [recipient, line] : answers)
      if (line.starts_with(first)) list.insert(recipient);
    return list;
  }
  void hear(std::string line) {
    while (!line.empty() && (line.back() == '\n' || line.back() == '\r')) line.pop_back();
    if (!asked.empty()) answers[std::exchange(asked, {})] = line;
    const bool failed = line.starts_with('4') || line.starts_with('5');
    const bool taken = data_begun && line.starts_with("250");
    if (line.starts_with("354")) data_begun = true;
    // libcurl says QUIT next and would wait for the answer as long as for any other.
    if (failed || taken) curl_easy_setopt(handle, CURLOPT_SERVER_RESPONSE_TIMEOUT, 1L);
    if (failed) failure = line;
    if (!line.starts_with("221")) last = std::move(line);  // the answer to the QUIT
  }
};

std::size_t on_reply(char* data, std::size_t size, std::size_t count, void* self) {
  static_cast<Conversation*>(self)->hear(std::string(data, size * count));
  return size * count;
}

// Of what is sent, logins among it, only the recipients' names are looked at.
int on_debug(CURL*, curl_infotype type, char* data, std::size_t size, void* self) {
  if (type == CURLINFO_HEADER_OUT) static_cast<Conversation*>(self)->say({data, size});
  return 0;
}

std::size_t discard(char*, std::size_t size, std::size_t count, void*) { return size * count; }

bool loopback(const std::string& url) {
  return url.starts_with("smtp://127.0.0.1") || url.starts_with("smtp://[::1]") ||
         url.starts_with("smtp://localhost");
}

bool web_address(const std::string& url) {
  const bool sound = std::all_of(url.begin(), url.end(), [](unsigned char c) {
    return c > 0x20 && c < 0x7f && c != '<' && c != '>' && c != '"';
  });
  return sound && (url.starts_with("https://") || url.starts_with("http://"));
}

void check(const MailSettings& s) {
  if (!s.url.starts_with("smtp://") && !s.url.starts_with("smtps://"))
    throw std::invalid_argument("url must begin with smtp:// or smtps://, found \"" + s.url + "\"");
  if (s.url.find('@') != std::string::npos)
    throw std::invalid_argument("url must not hold a name or password: use username and password_file");
  if (bare_address(s.from).empty())
    throw std::invalid_argument("from must be a mail address, found \"" + s.from + "\"");
  if (s.to.empty()) throw std::invalid_argument("to must name at least one mail address");
  for (const auto& to : s.to)
    if (bare_address(to).empty())
      throw std::invalid_argument("to must hold mail addresses, found \"" + to + "\"");
  if (!s.page.empty() && !web_address(s.page))
    throw std::invalid_argument("page must begin with https:// or http://, found \"" + s.page + "\"");
  if (s.username.empty() != s.password_file.empty())
    throw std::invalid_argument("username and password_file belong together: give both or neither");
  const bool plain = s.url.starts_with("smtp://") && !s.starttls;
  if (plain && !s.username.empty() && !loopback(s.url))
    throw std::invalid_argument("a password is not sent without TLS: set starttls = true, or use smtps://");
}

std::string joined(const std::vector<std::string>& addresses) {
  std::string text;
  for (const auto& address : addresses)
    text += (text.empty() ? "<" : ",\r\n <") + bare_address(address) + ">";
  return text;
}

// RFC 2369 section 3.2. A message to the sender, and the page where each way of telling stands. Not RFC
// 8058's one click: what stops alerts is pressed on the page.
std::string unsubscribe(const MailSettings& s, const Json& alert) {
  const std::string mail =
      "<mailto:" + bare_address(s.from) + "?subject=unsubscribe%20" + url_text(alert.value("site", "")) + ">";
  return s.page.empty() ? mail : mail + ",\r\n <" + s.page + "/told>";
}

CurlList header_lines(const MailSettings& s, const Json& alert) {
  const std::string id = alert.value("id", ""), domain = domain_of(s.from);
  CurlList lines;
  add(lines, "Date: " + mail_date(std::time(nullptr)));
  add(lines, "From: coilward <" + bare_address(s.from) + ">");
  add(lines, "To: " + joined(s.to));
  add(lines, "Subject: " + header_text(alert.value("subject", "")));
  add(lines, "Message-ID: " + message_id(id, domain));
  // All mails about one finding stand together, also where the first one was never received.
  if (const auto findings = alert.find("findings"); findings != alert.end() && !findings->empty())
    add(lines, "References: " + message_id(findings->front().value("id", ""), domain));
  add(lines, "Auto-Submitted: auto-generated");  // RFC 3834: no out-of-office replies
  add(lines, "List-Unsubscribe: " + unsubscribe(s, alert));
  if (alert.value("severity", "") == "urgent") add(lines, "Importance: high");
  return lines;
}

std::string crlf(std::string_view text) {
  std::string lines;
  for (char c : text)
    lines += c == '\n' ? std::string("\r\n") : c == '\r' ? std::string() : std::string(1, c);
  return lines;
}

void add_part(curl_mime* mime, const std::string& text, const char* type) {
  curl_mimepart* part = curl_mime_addpart(mime);
  curl_mime_data(part, text.data(), text.size());
  curl_mime_type(part, type);
  curl_mime_encoder(part, "quoted-printable");
}

// RFC 2046 section 5.1.4: the plainest first. libcurl's outermost part is always multipart/mixed.
CurlMime body(CURL* handle, const Json& alert, const std::string& page) {
  CurlMime mime(curl_mime_init(handle)), both(curl_mime_init(handle));
  add_part(both.get(), crlf(clean_utf8(alert.value("text", ""))), "text/plain; charset=utf-8");
  add_part(both.get(), crlf(clean_utf8(mail_html(alert, page))), "text/html; charset=utf-8");
  curl_mimepart* part = curl_mime_addpart(mime.get());
  if (curl_mime_subparts(part, both.get()) == CURLE_OK) static_cast<void>(both.release());
  curl_mime_type(part, "multipart/alternative");
  return mime;
}

void set_login(CURL* handle, const MailSettings& s, const std::string& password) {
  const bool needs_tls = s.url.starts_with("smtp://") && s.starttls;
  curl_easy_setopt(handle, CURLOPT_USE_SSL, static_cast<long>(needs_tls ? CURLUSESSL_ALL : CURLUSESSL_NONE));
  if (s.username.empty()) return;
  curl_easy_setopt(handle, CURLOPT_USERNAME, s.username.c_str());
  curl_easy_setopt(handle, CURLOPT_PASSWORD, password.c_str());
}

Reply judge(const CallResult& call, const Conversation& heard) {
  if (call.interrupted) return {COILWARD_RETRY, "interrupted"};
  if (call.code == CURLE_OK) {
    if (heard.failure.empty()) return {COILWARD_DONE, heard.last};
    return {COILWARD_DONE, "delivered, but not to everybody: " + heard.failure};
  }
  // libcurl 7.88: CURLE_SEND_ERROR is a refused MAIL, RCPT or DATA; after DATA has begun any failure is the
  // text's.
  const bool about_message = call.code == CURLE_SEND_ERROR || heard.data_begun;
  const bool for_ever = about_message && heard.failure.starts_with('5');
  return {for_ever ? COILWARD_REFUSED : COILWARD_RETRY,
          heard.failure.empty() ? call.error : heard.failure + " (" + call.error + ")"};
}

}  // namespace

Mail::Mail(const Json& json) {
  settings_.url = json.value("url", "");
  settings_.starttls = json.value("starttls", true);
  settings_.username = json.value("username", "");
  settings_.password_file = json.value("password_file", "");
  settings_.from = json.value("from", "");
  settings_.to = json.value("to", std::vector<std::string>());
  settings_.ca_file = json.value("ca_file", "");
  settings_.page = json.value("page", "");
  while (settings_.page.ends_with('/')) settings_.page.pop_back();
  check(settings_);
}

Reply Mail::deliver(std::string_view alert_json, double timeout_s) {
  const Json alert = Json::parse(alert_json, nullptr, false);
  if (!alert.is_object()) return {COILWARD_REFUSED, "the alert is not a JSON object"};
  Secret password;
  if (!settings_.password_file.empty()) password = read_secret(settings_.password_file);
  if (!password.wrong.empty()) return {COILWARD_RETRY, password.wrong};

  const CurlHandle handle(curl_easy_init());
  if (!handle) return {COILWARD_RETRY, "out of memory"};
  CURL* curl = handle.get();
  Conversation heard{curl};
  CurlList recipients;
  const std::string id = alert.value("kind", "") == "test" ? std::string() : alert.value("id", "");
  for (const auto& to : settings_.to)
    if (!settled(id, bare_address(to))) add(recipients, "<" + bare_address(to) + ">");
  const CurlList lines = header_lines(settings_, alert);
  const CurlMime mime = body(curl, alert, settings_.page);
  set_login(curl, settings_, password.value);
  curl_easy_setopt(curl, CURLOPT_URL, settings_.url.c_str());
  curl_easy_setopt(curl, CURLOPT_MAIL_FROM, ("<" + bare_address(settings_.from) + ">").c_str());
  curl_easy_setopt(curl, CURLOPT_MAIL_RCPT, recipients.get());
  curl_easy_setopt(curl, CURLOPT_MAIL_RCPT_ALLLOWFAILS, 1L);
  curl_easy_setopt(curl, CURLOPT_HTTPHEADER, lines.get());
  curl_easy_setopt(curl, CURLOPT_MIMEPOST, mime.get());
  curl_easy_setopt(curl, CURLOPT_HEADERFUNCTION, on_reply);
  curl_easy_setopt(curl, CURLOPT_HEADERDATA, &heard);
  curl_easy_setopt(curl, CURLOPT_VERBOSE, 1L);
  curl_easy_setopt(curl, CURLOPT_DEBUGFUNCTION, on_debug);
  curl_easy_setopt(curl, CURLOPT_DEBUGDATA, &heard);
  curl_easy_setopt(curl, CURLOPT_WRITEFUNCTION, discard);
  curl_easy_setopt(curl, CURLOPT_SERVER_RESPONSE_TIMEOUT, std::max(1L, static_cast<long>(timeout_s)));
  const CallResult call = calls_.run(curl, "smtp,smtps", settings_.ca_file, timeout_s);
  Reply reply = judge(call, heard);
  if (const auto later = heard.answered_with('4'); call.code == CURLE_OK && !later.empty() && !id.empty()) {
    reply = {COILWARD_RETRY,
             "taken, but not yet for " + *later.begin() + ": " + heard.answers.at(*later.begin())};
    settle(id, heard.answered_with('2'), heard.answered_with('5'));
  }
  reply.words = without_secret(std::move(reply.words), password.value);
  return reply;
}

bool Mail::settled(const std::string& id, const std::string& recipient) const {
  const auto it = settled_.find(id);
  return it != settled_.end() && it->second.contains(recipient);
}

// Who is done with, when others are still to be tried: they are not sent it again.
void Mail::settle(const std::string& id, const std::set<std::string>& taken,
                  const std::set<std::string>& refused) {
  if (settled_.size() >= kAlertsInMind) settled_.erase(settled_.begin());
  settled_[id].insert(taken.begin(), taken.end());
  settled_[id].insert(refused.begin(), refused.end());
}

}  // namespace coilward_plugins
