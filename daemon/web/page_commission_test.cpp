// The walk's page: each kind of question with what it is answered with, what is said so far, and the
// configuration at the end, which is shown and changes nothing.
#include <gmock/gmock.h>

#include "daemon/web/api.h"
#include "daemon/web/page_check.h"
#include "daemon/web/web_test_site.h"

namespace coilward {
namespace {

using testing::HasSubstr;
using testing::Not;

class WalkPage : public ::testing::Test {
 protected:
  ApiResponse ask(const std::string& method, const std::string& path, const std::string& body = "") {
    std::optional<ApiResponse> response;
    api.handle({method, path, {}, body}, [&](ApiResponse answer) { response = std::move(answer); });
    return response.value_or(ApiResponse{0});
  }
  std::string page() {
    const ApiResponse response = ask("GET", "/commission");
    EXPECT_EQ(response.status, 200);
    EXPECT_EQ(PageCheck(response.body).fault(), "");
    return response.body;
  }
  ApiResponse post(const std::string& action, const std::string& fields = "") {
    const std::string text = page();
    return ask("POST", "/commission/" + action,
               "token=" + text.substr(text.find("name=\"token\" value=\"") + 20, 32) + fields);
  }
  void asks(const Question& question) {
    site.commission.walk = WalkView{7, {"Juniper Row 12: 2 <zones>"}, question, false, "", ""};
  }
  WebTestSite site;
  Api api{site};
};

TEST_F(WalkPage, BeginsWhenAskedTo) {
  EXPECT_THAT(page(), HasSubstr(">Begin</button>"));
  EXPECT_THAT(page(), HasSubstr("licensed electrician"));
  EXPECT_EQ(ask("POST", "/commission/begin", "").status, 403);
  EXPECT_FALSE(site.commission.walk);
  EXPECT_EQ(post("begin").location, "/commission");
  EXPECT_TRUE(site.commission.walk);
  EXPECT_THAT(page(), HasSubstr("Looking at the sensors"));
  EXPECT_THAT(page(), HasSubstr("http-equiv=\"refresh\""));
}

TEST_F(WalkPage, EachKindOfQuestionHasItsControls) {
  asks({Question::Kind::done, "Switch zone 4 on at the controller", "", {"skip"}});
  EXPECT_THAT(page(), HasSubstr("value=\"done\">Done</button>"));
  EXPECT_THAT(page(), HasSubstr("value=\"skip\">Leave this zone out</button>"));
  EXPECT_THAT(page(), HasSubstr("2 &lt;zones&gt;"));
  EXPECT_THAT(page(), HasSubstr("data-zone=\"4\""));
  asks({Question::Kind::choice, "Their sensors are swapped", "again", {"again", "map", "leave"}});
  for (const char* button : {"Look again", "Map it in the configuration", "Leave it out"})
    EXPECT_THAT(page(), HasSubstr(button));
  asks({Question::Kind::number, "Valves that it opens", "1", {}, 1, 12});
  EXPECT_THAT(page(), HasSubstr("value=\"1\" maxlength=\"200\" autocomplete=\"off\" inputmode=\"decimal\""));
  asks({Question::Kind::text, "Zone 4: its \"name\"", "East <hedge>", {}});
  EXPECT_THAT(page(), HasSubstr("value=\"East &lt;hedge&gt;\""));
}

TEST_F(WalkPage, AnAnswerGoesToItsQuestionAlone) {
  asks({Question::Kind::text, "Its name", "", {}});
  EXPECT_EQ(post("answer", "&step=7&answer=East+hedge").location, "/commission");
  EXPECT_EQ(post("answer", "&step=6&answer=again").location, "/commission") << "an old one is no error";
  EXPECT_EQ(post("answer", "&step=x&answer=y").status, 400);
  EXPECT_EQ(site.commission.answers, std::vector<std::string>{"East hedge"});
}

TEST_F(WalkPage, TheConfigurationIsShownSavedAndNothingElse) {
  EXPECT_EQ(ask("GET", "/commission/site.toml").status, 404);
  site.commission.walk = WalkView{9, {}, std::nullopt, true, "[site]\nname = \"<Birch>\"\n", ""};
  const std::string text = page();
  EXPECT_THAT(text, HasSubstr("[site]\nname = &quot;&lt;Birch&gt;&quot;\n"));
  EXPECT_THAT(text, HasSubstr("systemctl reload coilwardd"));
  EXPECT_THAT(text, HasSubstr(">Begin anew</button>"));
  const ApiResponse file = ask("GET", "/commission/site.toml");
  EXPECT_EQ(file.body, site.commission.walk->toml);
  EXPECT_EQ(file.file_name, "site.toml");
  site.commission.walk->toml.clear();
  site.commission.walk->trouble = "the configuration has no zone yet";
  EXPECT_THAT(page(), HasSubstr("no zone yet"));
  post("end");
  EXPECT_THAT(page(), HasSubstr(">Begin</button>"));
}

}  // namespace
}  // namespace coilward
