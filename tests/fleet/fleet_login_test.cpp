// People of the contractor's page: what each role does, sessions over several workers, who guesses, and whose
// a new site is.
#include <gmock/gmock.h>

#include "tests/fleet/two_organisations.h"

namespace coilward {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::Not;
using ::testing::StartsWith;

class FleetLogin : public TwoOrganisations {
 protected:
  std::string act(const std::string& target, const std::string& form = {}) {
    return stage->post(target, "token=" + stage->token_on("/account") + form);
  }
};

TEST_F(FleetLogin, EachRoleDoesWhatIsItsOwn) {
  ASSERT_TRUE(log_in("ana")) << "capitals make no difference";
  EXPECT_THAT(stage->get("/"), AllOf(HasSubstr("Larch Irrigation"), HasSubstr("2 sites need a visit"),
                                     HasSubstr("Gate of larch-2"), HasSubstr("Ana, contractor")));
  EXPECT_THAT(act("/site/larch-2/assign", "&to=Ben"), HasSubstr("303 See Other"));
  EXPECT_THAT(act("/site/larch-2/assign", "&to=Hanna"), HasSubstr("404 Not Found"));
  ASSERT_TRUE(log_in("Ben"));
  EXPECT_THAT(stage->get("/"), HasSubstr("Ben goes there<"));
  EXPECT_THAT(stage->get("/site/larch-2"), AllOf(HasSubstr("</span> goes there. Assigned by Ana, <time"),
                                                 HasSubstr("/acknowledge"), Not(HasSubstr("/assign\""))));
  EXPECT_THAT(act("/site/larch-2/assign", "&to="), HasSubstr("403 Forbidden"));
  EXPECT_THAT(act("/site/larch-1/finding/f-larch-1/acknowledge", "&by=Someone"), HasSubstr("303 See Other"));
  ASSERT_TRUE(log_in("Hanna"));
  EXPECT_THAT(stage->get("/"), HasSubstr("Location: /site/larch-1\r\n"));
  EXPECT_THAT(stage->get("/site/larch-1"), AllOf(HasSubstr("Acknowledged by Ben, <time"),
                                                 Not(HasSubstr("<form")), HasSubstr("Your site")));
  EXPECT_THAT(stage->get("/site/larch-2"), StartsWith("HTTP/1.1 404"));
  EXPECT_THAT(act("/site/larch-1/finding/f-larch-1/acknowledge"), HasSubstr("403 Forbidden"));
}

// What one worker has shown or let in, another takes.
TEST_F(FleetLogin, AnyWorkerTakesWhatAnotherGave) {
  const std::string form =
      "token=" + stage->token_on("/login", 0) + "&name=Ana&password=" + percent_encoded(kTheirPassword);
  const std::string in = stage->post("/login", form + "&next=%2Fsite%2Flarch-2", 1);
  EXPECT_THAT(in, AllOf(HasSubstr("303 See Other"), HasSubstr("Location: /site/larch-2\r\n")));
  stage->cookie = "coilward_session=" + FleetStage::text_after(in, "Set-Cookie: coilward_session=", ';');
  EXPECT_THAT(stage->get("/", 0), HasSubstr("Larch Irrigation"));
  EXPECT_THAT(stage->post("/logout", "token=" + stage->token_on("/account", 0), 1),
              HasSubstr("said=logged-out"));
  EXPECT_THAT(stage->get("/", 0), HasSubstr("Location: /login\r\n"));
  stage->cookie.clear();
  EXPECT_THAT(stage->post("/login", form + "&next=%2F%2Fevil.example", 0), HasSubstr("Location: /\r\n"));
  EXPECT_THAT(stage->post("/login", "token=none&name=Ana&password=x", 0), HasSubstr("403 Forbidden"));
}

TEST_F(FleetLogin, ANewPasswordEndsOtherSessions) {
  ASSERT_TRUE(log_in("Ana"));
  const std::string elsewhere = stage->cookie;
  ASSERT_TRUE(log_in("Ana"));
  EXPECT_THAT(stage->get("/account"), HasSubstr("logged in at 2 places"));
  EXPECT_THAT(act("/account/password", "&old=wrong+one+it+is&password=five+red+hoses&again=five+red+hoses"),
              HasSubstr("403 Forbidden"));
  EXPECT_THAT(act("/account/password", "&old=" + percent_encoded(kTheirPassword) +
                                           "&password=five+red+hoses&again=five+red+hoses"),
              HasSubstr("Location: /account?said=changed"));
  EXPECT_THAT(stage->get("/"), HasSubstr("Larch Irrigation")) << "here it goes on";
  stage->cookie = elsewhere;
  EXPECT_THAT(stage->get("/"), HasSubstr("Location: /login"));
  FleetPeople people(*owner);
  ASSERT_TRUE(log_in("Ben"));
  ASSERT_TRUE(people.set_password("ben", "seven green nozzles"));
  EXPECT_THAT(stage->get("/"), HasSubstr("Location: /login"));
  ASSERT_TRUE(log_in("Hanna"));
  ASSERT_TRUE(people.remove("Hanna"));
  EXPECT_THAT(stage->get("/"), HasSubstr("Location: /login"));
}

// Of a server of its own: it does not forget them soon.
class FleetGuesses : public TwoOrganisations {};

TEST_F(FleetGuesses, WhoGuessesWaits) {
  std::string last;
  for (int i = 0; i < 6; ++i) last = stage->log_in("Ana", "guess number " + std::to_string(i));
  EXPECT_THAT(last, AllOf(StartsWith("HTTP/1.1 429"), HasSubstr("Retry-After: ")));
  EXPECT_EQ(stage->log_in("Nobody", "guess number 7").find("Set-Cookie"), std::string::npos);
  EXPECT_THAT(stage->log(), AllOf(Not(HasSubstr("guess number")), Not(HasSubstr("Nobody"))));
}

TEST_F(FleetLogin, TheFirstIsAContractorAndTheLastStays) {
  FleetPeople people(*owner);
  EXPECT_EQ(people.add({"ANA", FleetRole::technician, "rowan"}, kTheirPassword).error().cause,
            Cause::conflict);
  EXPECT_EQ(people.add({"Eva", FleetRole::technician, ""}, kTheirPassword).error().cause, Cause::conflict);
  EXPECT_EQ(people.add({"Eva", FleetRole::technician, "elm"}, kTheirPassword).error().cause,
            Cause::not_found);
  EXPECT_EQ(people.add({"Eva", FleetRole::homeowner, "larch"}, kTheirPassword).error().cause,
            Cause::bad_input);
  EXPECT_EQ(people.add({"Eva", FleetRole::technician, "larch"}, "short").error().cause, Cause::bad_input);
  ASSERT_TRUE(people.remove("Rita"));
  EXPECT_EQ(people.remove("Ana").error().cause, Cause::conflict);
  EXPECT_EQ(people.remove("Zoe").error().cause, Cause::not_found);
  stage->database.run("delete from person");
  EXPECT_EQ(people.add({"Eva", FleetRole::technician, "larch"}, kTheirPassword).error().cause,
            Cause::bad_input);
  ASSERT_EQ(people.people()->size(), 0u);
  stage->cookie.clear();
  EXPECT_THAT(stage->get("/"), AllOf(HasSubstr("Nobody has a password yet"), Not(HasSubstr("rowan-1"))));
}

TEST_F(FleetLogin, TheCommandLineLetsInAndGives) {
  const std::string file = stage->broker.secret_file("eva", "nine yellow spades\n");
  const auto add = [&](std::vector<std::string> more) {
    more.insert(more.begin(), {"person", "add", "Eva", "--password-file", file});
    return stage->coilward(more);
  };
  EXPECT_THAT(add({}).second, HasSubstr("several organisations"));
  EXPECT_EQ(add({"--organisation", "elm"}).first, 1);
  const auto organisation = stage->coilward({"organisation", "add", "elm", "--name", "Elm & Sons"});
  EXPECT_EQ(organisation.first, 0) << organisation.second;
  const auto added = add({"--organisation", "elm"});
  EXPECT_THAT(added.second, HasSubstr("Eva may come in now, as contractor of elm")) << added.first;
  EXPECT_THAT(add({"--organisation", "elm"}).second, HasSubstr("already somebody called"));
  EXPECT_EQ(stage->coilward({"organisation", "give", "elm", "--site", "larch-2"}).first, 0);
  EXPECT_EQ(stage->coilward({"organisation", "give", "elm", "--site", "nowhere"}).first, 1);
  EXPECT_THAT(stage->log_in("Eva", "nine yellow spades"), HasSubstr("303 See Other"));
  EXPECT_THAT(stage->get("/"), AllOf(HasSubstr("Elm &amp; Sons"), HasSubstr("Gate of larch-2")));
  EXPECT_THAT(stage->coilward({"person", "list", "--json"}).second,
              AllOf(HasSubstr("\"Hanna\""), HasSubstr("larch-1"), Not(HasSubstr("argon2"))));
  EXPECT_THAT(stage->coilward({"organisation", "list"}).second, HasSubstr("Elm & Sons"));
  EXPECT_EQ(stage->coilward({"person", "remove", "eva"}).first, 0);
  EXPECT_THAT(stage->get("/"), HasSubstr("Location: /login"));
}

// It is nobody's where several could have it; nothing is shown of it before it is given to one.
TEST_F(FleetLogin, ANewSiteIsNobodysUntilItIsGiven) {
  FleetStage& on = *stage;
  on.database.run("insert into site (site, name, last_heard) values ('elm-1', 'Gate of elm-1', now())");
  ASSERT_TRUE(log_in("Ana"));
  EXPECT_THAT(on.get("/site/elm-1"), StartsWith("HTTP/1.1 404"));
  FleetPeople people(*owner);
  ASSERT_TRUE(people.give_site("elm-1", "larch"));
  EXPECT_THAT(on.get("/site/elm-1"), HasSubstr("Gate of elm-1"));
  ASSERT_TRUE(people.give_site("larch-1", "rowan"));
  EXPECT_THAT(on.get("/site/larch-1"), StartsWith("HTTP/1.1 404"));
  ASSERT_TRUE(log_in("Hanna"));
  EXPECT_THAT(on.get("/site/larch-1"), StartsWith("HTTP/1.1 404")) << "who looks after it has changed";
  EXPECT_EQ(people.give_site("larch-1", "elm").error().cause, Cause::not_found);
}

}  // namespace
}  // namespace coilward
