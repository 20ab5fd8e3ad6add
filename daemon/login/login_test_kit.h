// Logins without threads and on a clock moved by hand. For tests.
#pragma once

#include <gtest/gtest.h>

#include <optional>

#include "daemon/login/login_file.h"
#include "daemon/login/logins.h"
#include "tests/support/temporary_directory.h"

namespace coilward {

struct LoginTestKit {
  TemporaryDirectory directory;
  const std::string file = people_path(directory.path());
  FakeClock clock{*parse_rfc3339("2026-05-04T12:00:00Z")};
  std::shared_ptr<Logins> logins = Logins::open(file, on_this_thread(), clock);

  void reopen() { logins = Logins::open(file, on_this_thread(), clock); }
  Result<bool> add(const std::string& name, Role role, const std::string& password) {
    std::optional<Result<bool>> result;
    logins->add_person(name, role, password, [&](const Result<bool>& r) { result = r; });
    return result.value_or(Result<bool>(Error{Cause::world, "no answer"}));
  }
  LoginAnswer log_in(const std::string& name, const std::string& password,
                     const std::string& from = "192.0.2.7", const std::string& known = "") {
    std::optional<LoginAnswer> answer;
    logins->log_in({name, password, from, known}, [&](LoginAnswer a) { answer = std::move(a); });
    EXPECT_TRUE(answer.has_value());
    return answer.value_or(LoginAnswer{});
  }
  std::string share(int days, const std::string& by = "Sam") {
    std::optional<Result<std::string>> made;
    logins->make_share("for the neighbour", by, days, [&](const Result<std::string>& r) { made = r; });
    return made && *made ? **made : "";
  }
  std::string kept_text() const { return read_private_file(file)->value_or(""); }
};

inline constexpr const char* kSamsPassword = "wet boots at box B";
inline constexpr const char* kAnnsPassword = "roses and apple trees";

}  // namespace coilward
