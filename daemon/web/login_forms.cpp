#include "daemon/web/login_forms.h"

#include <fmt/format.h>

#include "daemon/web/cookies.h"
#include "daemon/web/html.h"

namespace coilward {
namespace {

// Own choice: a browser is known for a year after its last login.
constexpr std::chrono::hours kKnownFor{365 * 24};

std::string secret_field(const std::string& name, const std::string& words, const char* kind) {
  return fmt::format(
      "<label for=\"{0}\">{1}</label><input id=\"{0}\" name=\"{0}\" type=\"password\" maxlength=\"200\" "
      "autocomplete=\"{2}\" required>",
      name, words, kind);
}

}  // namespace

std::string wrong_part(const std::string& wrong) {
  return wrong.empty() ? wrong : fmt::format("<p class=\"said wrong\" role=\"alert\">{}</p>\n", html(wrong));
}

std::string person_field(const std::string& name) {
  return fmt::format(
      "<label for=\"name\">Name</label><input id=\"name\" name=\"name\" maxlength=\"60\" "
      "autocomplete=\"username\" autocapitalize=\"none\" required value=\"{}\">",
      html(name));
}

std::string password_field(const std::string& name, const std::string& words) {
  return secret_field(name, words, "current-password");
}

std::string new_password_fields() {
  return secret_field("password", "New password", "new-password") +
         secret_field("again", "The same again", "new-password");
}

ApiResponse see_other(std::string path) {
  ApiResponse response{303, "text/plain; charset=utf-8"};
  response.location = std::move(path);
  return response;
}

ApiResponse let_in_response(const Call& call, const LoginAnswer& answer, std::string path) {
  ApiResponse response = see_other(std::move(path));
  const bool secure = call.request.asker.secure;
  response.fields.emplace_back("Set-Cookie",
                               set_cookie(kSessionCookie, answer.session, kSessionLongest, secure));
  response.fields.emplace_back("Set-Cookie", set_cookie(kKnownCookie, answer.known, kKnownFor, secure));
  return response;
}

ApiResponse waiting(ApiResponse response, const LoginAnswer& answer) {
  if (answer.wait.count() > 0)
    response.fields.emplace_back("Retry-After", std::to_string(answer.wait.count()));
  return response;
}

}  // namespace coilward
