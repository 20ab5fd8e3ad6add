// `coilward person` and `coilward share`: on files alone, through the socket, and with somebody at a
// terminal.
#include <gmock/gmock.h>
#include <poll.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "daemon/cli/run_coilward.h"
#include "daemon/login/login_test_kit.h"

namespace coilward {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

class PeopleVerbs : public ::testing::Test, protected TestFiles {
 protected:
  void SetUp() override { std::filesystem::create_directory(state); }
  Ran verb(std::vector<std::string> args, const std::string& input = "") {
    args.insert(args.end(), {"--state", state, "--config", config});
    return run_coilward(std::move(args), input);
  }
  std::string kept() const { return text_of(people_path(state)); }
};

TEST_F(PeopleVerbs, let_somebody_in_before_the_daemon_was_ever_started) {
  const Ran nobody = verb({"person", "list"});
  EXPECT_EQ(nobody.status, 0) << nobody.err;
  EXPECT_THAT(nobody.out, AllOf(HasSubstr("Nobody has a password yet"), HasSubstr("/set-up")));
  const Ran added = verb({"person", "add", "Sam"}, std::string(kSamsPassword) + "\n");
  EXPECT_EQ(added.status, 0) << added.err;
  EXPECT_EQ(added.out, "Sam may come in now, as technician\n");
  EXPECT_THAT(kept(), AllOf(HasSubstr("$argon2id$"), Not(HasSubstr(kSamsPassword))));
  struct stat status = {};
  ASSERT_EQ(::stat(people_path(state).c_str(), &status), 0);
  EXPECT_EQ(status.st_mode & 0777, 0600u);
  const Ran ann = verb({"person", "add", "Ann", "--role", "homeowner", "--json", "--password-file",
                        directory.write("secret", std::string(kAnnsPassword) + "\r\nmore\n")});
  EXPECT_EQ(ann.lines().at(0), Json({{"added", true}, {"name", "Ann"}, {"role", "homeowner"}}));
  const Json people = verb({"person", "list", "--json"}).lines().at(0);
  EXPECT_EQ(people["people"].size(), 2u);
  EXPECT_FALSE(people.contains("set_up_code"));
  SystemClock clock;
  const auto logins = Logins::open(people_path(state), on_this_thread(), clock);
  std::string in;
  logins->log_in({"Ann", kAnnsPassword, "::1"}, [&](const LoginAnswer& answer) { in = answer.session; });
  EXPECT_FALSE(in.empty());
}

TEST_F(PeopleVerbs, say_what_is_wrong_with_the_right_status) {
  EXPECT_EQ(verb({"person", "add", "Sam"}, "short\n").status, 2);
  EXPECT_EQ(verb({"person", "add", "Sam"}, "").status, 1);
  EXPECT_EQ(verb({"person", "add", "Sam", "--password-file", "/nowhere"}).status, 1);
  EXPECT_EQ(verb({"person", "add", "Ann", "--role", "homeowner"}, kAnnsPassword).status, 2)
      << "not the first";
  EXPECT_EQ(verb({"person", "add", "Sam"}, kSamsPassword).status, 0);
  const Ran again = verb({"person", "add", "sam"}, kSamsPassword);
  EXPECT_EQ(again.status, 1);
  EXPECT_TRUE(again.out.empty());
  EXPECT_THAT(verb({"person", "remove", "Sam"}).err, HasSubstr("the last technician stays"));
  EXPECT_EQ(verb({"person", "password", "Eve"}, kSamsPassword).status, 1);
  EXPECT_EQ(run_coilward({"person", "list", "--state", state}).status, 2);
  EXPECT_EQ(run_coilward({"person", "list", "--state", state + "x", "--config", config}).status, 1);
}

TEST_F(PeopleVerbs, set_a_forgotten_password_anew_and_let_nobody_in_any_more) {
  verb({"person", "add", "Sam"}, kSamsPassword);
  verb({"person", "add", "Ann"}, kAnnsPassword);
  const std::string before = kept();
  EXPECT_EQ(verb({"person", "password", "ann"}, "pears beside the long wall\n").status, 0);
  EXPECT_NE(kept(), before);
  EXPECT_EQ(verb({"person", "remove", "Ann"}).out, "Ann may not come in any more\n");
  EXPECT_THAT(kept(), Not(HasSubstr("Ann")));
}

TEST_F(PeopleVerbs, make_links_list_and_end_them) {
  EXPECT_EQ(verb({"share", "add", "Bo"}).status, 1) << "nobody has a password yet";
  verb({"person", "add", "Sam"}, kSamsPassword);
  const Json made = verb({"share", "add", "Bo", "--days", "3", "--by", "Sam", "--json"}).lines().at(0);
  const std::string path = made["path"];
  EXPECT_THAT(path, testing::StartsWith("/link/"));
  EXPECT_THAT(kept(), Not(HasSubstr(path.substr(6))));
  const Ran list = verb({"share", "list"});
  EXPECT_THAT(list.out, AllOf(HasSubstr("Bo"), HasSubstr("Sam"), Not(HasSubstr(path.substr(6)))));
  const std::string id = made["id"];
  EXPECT_EQ(verb({"share", "end", id}).status, 0);
  EXPECT_EQ(verb({"share", "end", id}).status, 1);
  EXPECT_EQ(verb({"share", "list"}).out, "There is no link that opens.\n");
}

// `coilward person add Sam` on a terminal of its own.
class Terminal {
 public:
  explicit Terminal(const std::vector<std::string>& args) : master_(::posix_openpt(O_RDWR | O_NOCTTY)) {
    EXPECT_EQ(::grantpt(master_) | ::unlockpt(master_), 0);
    const std::string slave = ::ptsname(master_);
    posix_spawn_file_actions_t files;
    posix_spawn_file_actions_init(&files);
    for (const int fd : {0, 1, 2}) posix_spawn_file_actions_addopen(&files, fd, slave.c_str(), O_RDWR, 0);
    std::vector<std::string> words = args;
    words.insert(words.begin(), COILWARD_BINARY_DIR "/bin/coilward");
    std::vector<char*> argv;
    for (std::string& word : words) argv.push_back(word.data());
    argv.push_back(nullptr);
    EXPECT_EQ(posix_spawn(&child_, argv[0], &files, nullptr, argv.data(), environ), 0);
    posix_spawn_file_actions_destroy(&files);
  }
  ~Terminal() { ::close(master_); }
  // Waits for the words, then types a line.
  void answer(const std::string& asked, const std::string& line) {
    while (shown.find(asked, read_) == std::string::npos && more()) {
    }
    read_ = shown.size();
    (void)!::write(master_, (line + "\n").data(), line.size() + 1);
  }
  int ends() {
    while (more()) {
    }
    int status = -1;
    ::waitpid(child_, &status, 0);
    return WEXITSTATUS(status);
  }
  std::string shown;

 private:
  bool more() {
    pollfd ready{master_, POLLIN, 0};
    char block[1024];
    const ssize_t n = ::poll(&ready, 1, 20'000) > 0 ? ::read(master_, block, sizeof block) : -1;
    if (n > 0) shown.append(block, static_cast<std::size_t>(n));
    return n > 0;
  }
  int master_;
  pid_t child_ = 0;
  std::size_t read_ = 0;
};

TEST_F(PeopleVerbs, ask_at_a_terminal_twice_and_show_nothing_of_it) {
  const std::vector<std::string> words = {"person", "add", "Sam", "--state", state, "--config", config};
  Terminal differs(words);
  differs.answer("New password: ", kSamsPassword);
  differs.answer("The same again: ", kAnnsPassword);
  EXPECT_EQ(differs.ends(), 2);
  Terminal same(words);
  same.answer("New password: ", kSamsPassword);
  same.answer("The same again: ", kSamsPassword);
  EXPECT_EQ(same.ends(), 0) << same.shown;
  EXPECT_THAT(same.shown, Not(HasSubstr(kSamsPassword)));
}

}  // namespace
}  // namespace coilward
