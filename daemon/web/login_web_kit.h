// A site whose page asks for a login: two people, without HTTP. For the tests of this folder.
#pragma once

#include <gtest/gtest.h>

#include <optional>

#include "daemon/login/login_test_kit.h"
#include "daemon/web/api.h"
#include "daemon/web/cookies.h"
#include "daemon/web/query.h"
#include "daemon/web/web_test_site.h"

namespace coilward {

inline Asker tcp(const std::string& address = "192.0.2.7") { return {false, address, "garden.example"}; }
inline Asker with_cookie(std::string_view name, const std::string& secret) {
  Asker asker = tcp();
  asker.cookies = std::string(name) + "=" + secret;
  return asker;
}
inline Asker with_session(const std::string& secret) { return with_cookie(kSessionCookie, secret); }
inline Asker with_link(const std::string& secret) { return with_cookie(kLinkCookie, secret); }

// The value of one of the cookies that an answer sets; empty: it sets none of that name.
inline std::string cookie_set(const ApiResponse& answer, std::string_view name) {
  for (const auto& [field, value] : answer.fields)
    if (field == "Set-Cookie" && value.starts_with(std::string(name) + "="))
      return value.substr(name.size() + 1, value.find(';') - name.size() - 1);
  return {};
}

struct LoginWebKit {
  void let_in_both() {
    ASSERT_TRUE(kit.add("Sam", Role::technician, kSamsPassword));
    ASSERT_TRUE(kit.add("Ann", Role::homeowner, kAnnsPassword));
    sam = kit.log_in("Sam", kSamsPassword).session;
    ann = kit.log_in("Ann", kAnnsPassword).session;
  }
  std::string share() {
    if (link_secret_.empty()) link_secret_ = kit.share(7);
    return link_secret_;
  }
  ApiResponse ask(const ApiRequest& request) {
    std::optional<ApiResponse> response;
    api.handle(request, [&](ApiResponse answer) { response = std::move(answer); });
    if (!response && site.waiting_alert) std::exchange(site.waiting_alert, nullptr)();
    EXPECT_TRUE(response.has_value()) << request.path;
    return response.value_or(ApiResponse{0});
  }
  ApiResponse get(const std::string& path, const Asker& asker,
                  std::map<std::string, std::string> query = {}) {
    return ask({"GET", path, std::move(query), "", asker});
  }
  ApiResponse post(const std::string& path, const Asker& asker, const std::string& body) {
    return ask({"POST", path, {}, body, asker});
  }
  // That of the forms on a page.
  std::string token(const std::string& path, const Asker& asker) {
    const std::string page = get(path, asker).body, before = "name=\"token\" value=\"";
    const auto at = page.find(before);
    return at == std::string::npos ? "" : page.substr(at + before.size(), 32);
  }
  // As the form of the page at /login does.
  ApiResponse log_in(const std::string& name, const std::string& password, const Asker& asker = tcp(),
                     const std::string& more = "") {
    return post("/login", asker,
                "token=" + token("/login", asker) + "&name=" + percent_encoded(name) +
                    "&password=" + percent_encoded(password) + more);
  }

  LoginTestKit kit;
  WebTestSite site;
  Api api{site, kit.logins.get()};
  std::string sam, ann;  // sessions

 private:
  std::string link_secret_;
};

}  // namespace coilward
