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

std::string token_input(const std::string& token) {
  return fmt::format("<input type=\"hidden\" name=\"token\" value=\"{}\">", html(token));
}

std::string log_in_part(const std::string& token, const std::string& name, const std::string& next,
                        const std::string& wrong) {
  const std::string onward =
      is_local_path(next) ? fmt::format("<input type=\"hidden\" name=\"next\" value=\"{}\">", html(next))
                          : "";
  return fmt::format(
      "<h1>Log in</h1>\n{}<form method=\"post\" action=\"/login\" class=\"row\">{}{}{}{}<button>Log "
      "in</button></form>\n",
      wrong_part(wrong), token_input(token), onward, person_field(name),
      password_field("password", "Password"));
}

std::string change_password_part(const std::string& token, const std::string& name,
                                 const std::string& wrong) {
  return fmt::format(
      "<section><h2>Another password</h2>\n{}<form method=\"post\" action=\"/account/password\" "
      "class=\"row\">{}<input type=\"hidden\" autocomplete=\"username\" value=\"{}\">{}{}{}<button>Change "
      "the "
      "password</button></form></section>\n",
      wrong_part(wrong), token_input(token), html(name), password_field("old", "Password until now"),
      new_password_fields(), kPasswordRule);
}

ApiResponse let_in_response(const Call& call, const LoginAnswer& answer, std::string path) {
  return let_in_response(call.request.asker.secure, answer, std::move(path));
}

ApiResponse let_in_response(bool secure, const LoginAnswer& answer, std::string path) {
  ApiResponse response = see_other(std::move(path));
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
