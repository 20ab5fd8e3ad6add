// Who comes in and who does not; what is on the disk of it.
#include "daemon/login/logins.h"

#include <gmock/gmock.h>
#include <sys/stat.h>

#include "daemon/login/login_test_kit.h"
#include "tests/support/poll.h"

namespace coilward {
namespace {

using namespace std::chrono_literals;
using testing::HasSubstr;
using testing::Not;

class LoginsTest : public ::testing::Test, protected LoginTestKit {
 protected:
  void SetUp() override { ASSERT_TRUE(add("Sam", Role::technician, kSamsPassword)); }
};

TEST_F(LoginsTest, the_right_password_lets_in_and_a_wrong_one_does_not) {
  const LoginAnswer in = log_in("sam", kSamsPassword);
  ASSERT_EQ(in.session.size(), 43u);
  ASSERT_NE(logins->session(in.session), nullptr);
  EXPECT_EQ(logins->session(in.session)->name, "Sam");
  EXPECT_EQ(logins->session(in.session)->role, Role::technician);
  EXPECT_TRUE(log_in("Sam", "wet boots at box C").session.empty());
  EXPECT_EQ(log_in("Sam", "wrong").wrong, log_in("Nobody", "wrong").wrong);
  EXPECT_EQ(logins->session(""), nullptr);
  EXPECT_EQ(logins->session(in.session.substr(1)), nullptr);
}

TEST_F(LoginsTest, no_secret_is_in_the_file_and_nobody_else_reads_it) {
  const std::string session = log_in("Sam", kSamsPassword).session, link = share(7);
  for (const std::string& secret : {std::string(kSamsPassword), session, link})
    EXPECT_THAT(kept_text(), Not(HasSubstr(secret)));
  EXPECT_THAT(kept_text(), HasSubstr("$argon2id$v=19$m=19456,t=2,p=1$"));
  struct stat status = {};
  ASSERT_EQ(::stat(file.c_str(), &status), 0);
  EXPECT_EQ(status.st_mode & 0777, 0600u);
}

TEST_F(LoginsTest, a_session_outlives_the_process_and_ends_by_itself) {
  const std::string session = log_in("Sam", kSamsPassword).session;
  reopen();
  ASSERT_NE(logins->session(session), nullptr);
  for (int day = 0; day < 88; day += 8) {  // used now and then
    clock.advance(8 * 24h);
    EXPECT_NE(logins->session(session), nullptr) << day;
  }
  clock.advance(3 * 24h);
  EXPECT_EQ(logins->session(session), nullptr) << "the longest is over";
  const std::string idle = log_in("Sam", kSamsPassword).session;
  clock.advance(kSessionIdle + 1min);
  EXPECT_EQ(logins->session(idle), nullptr);
}

TEST_F(LoginsTest, a_logout_counts_after_a_restart_too) {
  const std::string session = log_in("Sam", kSamsPassword).session;
  logins->log_out(session, [](const Result<bool>& done) { EXPECT_TRUE(done); });
  EXPECT_EQ(logins->session(session), nullptr);
  reopen();
  EXPECT_EQ(logins->session(session), nullptr);
}

TEST_F(LoginsTest, a_new_password_ends_the_sessions_of_the_old_one) {
  const std::string session = log_in("Sam", kSamsPassword).session,
                    other = log_in("Sam", kSamsPassword).session;
  LoginAnswer answer;
  const auto keep = [&](LoginAnswer a) { answer = std::move(a); };
  logins->change_password({"Sam", "not the old one", "192.0.2.7"}, kAnnsPassword, session, keep);
  EXPECT_FALSE(answer.wrong.empty());
  logins->change_password({"Sam", kSamsPassword, "192.0.2.7"}, "short", session, keep);
  EXPECT_THAT(answer.wrong, HasSubstr("10 characters"));
  logins->change_password({"Sam", kSamsPassword, "192.0.2.7"}, kAnnsPassword, session, keep);
  EXPECT_TRUE(answer.wrong.empty());
  EXPECT_NE(logins->session(session), nullptr);
  EXPECT_EQ(logins->session(other), nullptr);
  EXPECT_TRUE(log_in("Sam", kSamsPassword).session.empty());
  EXPECT_FALSE(log_in("Sam", kAnnsPassword).session.empty());
}

TEST_F(LoginsTest, whoever_is_removed_is_out_and_the_last_technician_stays) {
  ASSERT_TRUE(add("Ann", Role::homeowner, kAnnsPassword));
  const std::string session = log_in("Ann", kAnnsPassword).session;
  ASSERT_NE(logins->session(session), nullptr);
  logins->remove_person("ANN", [](const Result<bool>& done) { EXPECT_TRUE(done); });
  EXPECT_EQ(logins->session(session), nullptr);
  logins->remove_person("Sam",
                        [](const Result<bool>& done) { EXPECT_EQ(done.error().cause, Cause::conflict); });
  EXPECT_TRUE(logins->anybody());
  EXPECT_EQ(add("sAM", Role::homeowner, kAnnsPassword).error().cause, Cause::conflict);
  EXPECT_FALSE(add("a/b", Role::homeowner, kAnnsPassword));
}

TEST_F(LoginsTest, who_guesses_waits_longer_each_time) {
  int tried = 0;
  std::chrono::seconds waited{0};
  for (; waited < 1h; ++tried) {
    const LoginAnswer answer = log_in("Sam", "guess number " + std::to_string(tried));
    EXPECT_TRUE(answer.session.empty());
    waited += answer.wait;
    clock.advance(answer.wait);
  }
  EXPECT_LT(tried, 40);
  log_in("Sam", "one more");
  EXPECT_TRUE(log_in("Sam", kSamsPassword).session.empty()) << "not even with the right one";
  clock.advance(30s);
  EXPECT_FALSE(log_in("Sam", kSamsPassword, "192.0.2.8").session.empty())
      << "from elsewhere half a minute is all";
}

TEST_F(LoginsTest, one_address_guesses_no_faster_with_many_names) {
  int allowed = 0;
  for (int i = 0; i < 100; ++i) allowed += log_in("name" + std::to_string(i), "guess").wait == 0s;
  EXPECT_LE(allowed, 4);
  EXPECT_EQ(guessing_address("2001:db8::1:2:3:4"), guessing_address("2001:db8::5:6:7:8"));
  EXPECT_NE(guessing_address("2001:db8:0:1::1"), guessing_address("2001:db8::1"));
}

TEST_F(LoginsTest, a_strangers_attempts_do_not_keep_the_owner_out) {
  const std::string known = log_in("Sam", kSamsPassword).known;
  const auto storm = [&] {
    for (int i = 0; i < 200; ++i)
      log_in("Sam", "guess " + std::to_string(i), "203.0.113." + std::to_string(i));
  };
  storm();
  EXPECT_GT(log_in("Sam", kSamsPassword, "198.51.100.1").wait, 0s) << "a browser never seen, from far away";
  EXPECT_FALSE(log_in("Sam", kSamsPassword, "192.168.1.20").session.empty()) << "at home";
  EXPECT_FALSE(log_in("Sam", kSamsPassword, "203.0.113.7", known).session.empty()) << "a known browser";
  storm();
  EXPECT_TRUE(log_in("Sam", "wrong", "203.0.113.7", known).session.empty()) << "it lets nobody in by itself";
  logins->set_password("Sam", kAnnsPassword, [](const Result<bool>& set) { EXPECT_TRUE(set); });
  storm();
  EXPECT_GT(log_in("Sam", kAnnsPassword, "198.51.100.1", known).wait, 0s) << "known by the old password";
}

TEST_F(LoginsTest, a_neighbours_attempts_do_not_keep_a_known_browser_out) {
  const std::string known = log_in("Sam", kSamsPassword, "192.168.1.20").known;
  for (int i = 0; i < 50; ++i) {
    log_in("Sam", "guess", "192.168.1.20");
    clock.advance(1min);
  }
  EXPECT_GT(log_in("Sam", kSamsPassword, "192.168.1.20").wait, 0s);
  EXPECT_FALSE(log_in("Sam", kSamsPassword, "192.168.1.20", known).session.empty());
}

TEST_F(LoginsTest, whoever_has_stolen_a_browser_waits_too) {
  const std::string known = log_in("Sam", kSamsPassword).known;
  int tried = 0;
  for (int i = 0; i < 100; ++i)
    tried += log_in("Sam", "guess", "203.0.113." + std::to_string(i), known).wait == 0s;
  EXPECT_LE(tried, 4);
}

// Nothing is hashed before the work is let go on.
TEST(LoginsCrowd, of_strangers_keeps_nobody_familiar_out) {
  const LoginTestKit kit;
  std::vector<std::function<void()>> waiting;
  const LoginThreads later{[&](std::function<void()> job) { waiting.push_back(std::move(job)); },
                           [](const std::function<void()>& call) { call(); }};
  const auto logins = Logins::open(kit.file, later, kit.clock);
  std::map<std::string, int> refused;
  const auto attempt = [&](const std::string& address) {
    logins->log_in({"Sam", "guess", address}, [&, address](const LoginAnswer& answer) {
      if (answer.wrong.starts_with("Too many people")) ++refused[address];
    });
  };
  for (int i = 0; i < 12; ++i) attempt("203.0.113." + std::to_string(i));
  EXPECT_EQ(waiting.size(), 3u) << "one name far away has three free attempts";
  for (int i = 0; i < 20; ++i)
    logins->log_in({"name " + std::to_string(i), "guess", "198.51.100." + std::to_string(i)},
                   [](const LoginAnswer&) {});
  EXPECT_EQ(waiting.size(), 8u);
  attempt("192.168.1.20");
  EXPECT_EQ(waiting.size(), 9u);
  EXPECT_FALSE(refused.contains("192.168.1.20"));
}

TEST(AttemptGuard, private_networks_are_near) {
  for (const char* near : {"127.0.0.1", "10.1.2.3", "172.16.0.1", "172.31.255.1", "192.168.0.1",
                           "169.254.1.1", "::1", "fe80::1", "fd00::1"})
    EXPECT_TRUE(is_near(near)) << near;
  for (const char* far : {"172.32.0.1", "192.169.0.1", "8.8.8.8", "2001:db8::1", "", "gone", "fe00::1"})
    EXPECT_FALSE(is_near(far)) << far;
}

TEST_F(LoginsTest, it_is_known_where_somebody_is_logged_in) {
  const std::string here = log_in("Sam", kSamsPassword, "192.0.2.7").session;
  clock.advance(1h);
  log_in("Sam", kSamsPassword, "198.51.100.1");
  const auto sessions = logins->sessions("sam");
  ASSERT_EQ(sessions.size(), 2u);
  EXPECT_EQ(sessions[0].from, "198.51.100.1");
  EXPECT_EQ(sessions[1].from, "192.0.2.7");
  logins->log_out_elsewhere("Sam", here, [](const Result<bool>& done) { EXPECT_TRUE(done); });
  reopen();
  ASSERT_EQ(logins->sessions("Sam").size(), 1u);
  EXPECT_NE(logins->session(here), nullptr);
}

TEST_F(LoginsTest, an_unknown_name_takes_as_long) {
  const auto time = [&](const std::string& name, const std::string& from) {
    const auto begin = std::chrono::steady_clock::now();
    log_in(name, "wrong", from);
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
  };
  time("nobody", "192.0.2.1");  // makes what it compares with
  double known = 1, unknown = 1;
  for (int i = 0; i < 5; ++i) {
    clock.advance(1h);
    known = std::min(known, time("Sam", "192.0.2.2"));
    unknown = std::min(unknown, time("nobody", "192.0.2.3"));
  }
  EXPECT_GT(unknown, known / 3) << known;
  EXPECT_GT(known, 0.002) << "it is hashed";
}

TEST_F(LoginsTest, a_link_ends_by_itself_or_when_it_is_revoked) {
  const std::string link = share(7), other = share(31);
  EXPECT_EQ(share(32), "");
  EXPECT_EQ(share(0), "");
  reopen();
  ASSERT_NE(logins->share(link), nullptr);
  EXPECT_EQ(logins->shares().size(), 2u);
  logins->revoke_share(logins->share(other)->id, [](const Result<bool>& done) { EXPECT_TRUE(done); });
  EXPECT_EQ(logins->share(other), nullptr);
  clock.advance(7 * 24h);
  EXPECT_EQ(logins->share(link), nullptr);
  EXPECT_EQ(logins->session(link), nullptr);
}

TEST(LoginsFirst, the_code_makes_the_first_technician_once) {
  LoginTestKit kit;
  const std::string code = kit.logins->code();
  EXPECT_EQ(code.size(), 14u);
  int opened = 0;
  kit.logins->on_first([&] { ++opened; });
  LoginAnswer answer;
  const auto keep = [&](LoginAnswer a) { answer = std::move(a); };
  kit.logins->set_up({"Sam", kSamsPassword, "::1"}, "AAAA-AAAA-AAAA", keep);
  EXPECT_TRUE(answer.session.empty());
  kit.logins->set_up({"Sam", "short", "::1"}, code, keep);
  EXPECT_TRUE(answer.session.empty());
  EXPECT_FALSE(kit.logins->anybody());
  std::string typed = code;
  for (char& c : typed) c = static_cast<char>(std::tolower(c));
  kit.logins->set_up({"Sam", kSamsPassword, "::1"}, typed, keep);
  EXPECT_NE(kit.logins->session(answer.session), nullptr) << answer.wrong;
  EXPECT_EQ(opened, 1);
  kit.clock.advance(1h);
  kit.logins->set_up({"Eve", kAnnsPassword, "::1"}, code, keep);
  EXPECT_TRUE(answer.session.empty());
  EXPECT_EQ(kit.logins->people().size(), 1u);
  kit.reopen();
  EXPECT_EQ(kit.logins->code(), "");
}

TEST(LoginsFirst, a_homeowner_is_not_the_first) {
  LoginTestKit kit;
  EXPECT_EQ(kit.add("Ann", Role::homeowner, kAnnsPassword).error().cause, Cause::bad_input);
}

// Cut at every length, the file is damaged and not an invitation; the next person moves it aside.
TEST(LoginsFile, a_damaged_file_is_not_an_empty_one) {
  LoginTestKit kit;
  ASSERT_TRUE(kit.add("Sam", Role::technician, kSamsPassword));
  const std::string whole = kit.kept_text();
  for (std::size_t length = 0; length < whole.size() - 2; ++length) {
    kit.directory.write("people.json", whole.substr(0, length));
    kit.reopen();
    ASSERT_FALSE(kit.logins->damaged().empty()) << length;
  }
  ASSERT_TRUE(kit.add("Sam", Role::technician, kSamsPassword));
  EXPECT_TRUE(kit.logins->damaged().empty());
  kit.reopen();
  EXPECT_TRUE(kit.logins->anybody());
  EXPECT_TRUE(std::filesystem::exists(kit.file + ".damaged"));
}

TEST(LoginsFile, what_a_kill_left_half_written_is_written_anew) {
  LoginTestKit kit;
  kit.directory.write("people.json.new", "{\"coil", 0644);
  ASSERT_TRUE(kit.add("Sam", Role::technician, kSamsPassword));
  struct stat status = {};
  ASSERT_EQ(::stat(kit.file.c_str(), &status), 0);
  EXPECT_EQ(status.st_mode & 0777, 0600u);
  kit.reopen();
  EXPECT_TRUE(kit.logins->anybody());
}

TEST(LoginsFile, a_person_that_cannot_be_written_down_is_not_there) {
  LoginTestKit kit;
  std::filesystem::create_directory(kit.file);  // nothing can be renamed to it
  kit.directory.write("people.json/full", "");
  EXPECT_EQ(kit.add("Sam", Role::technician, kSamsPassword).error().cause, Cause::world);
  EXPECT_FALSE(kit.logins->anybody());
}

}  // namespace
}  // namespace coilward
