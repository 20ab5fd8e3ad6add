// Photos and notes on a finding's page: kept at a place by what they are, shown, listed, deleted; what should
// not be kept is refused, and only this form may be large.
#include <gmock/gmock.h>

#include <nlohmann/json.hpp>

#include "daemon/web/http_server_fixture.h"
#include "daemon/web/page_check.h"
#include "daemon/web/picture.h"
#include "daemon/web/test_pictures.h"

namespace coilward {
namespace {

using testing::HasSubstr;
using testing::Not;

constexpr const char* kUploadType = "multipart/form-data; boundary=edge";

class NoteRoutes : public ::testing::Test {
 protected:
  NoteRoutes() { site.findings_ = {web_test_finding()}; }
  ApiResponse ask(const std::string& method, const std::string& path, const std::string& body = "",
                  const std::string& type = "") {
    std::optional<ApiResponse> response;
    api.handle({method, path, {}, body, {}, type}, [&](ApiResponse answer) { response = std::move(answer); });
    return response.value_or(ApiResponse{0});
  }
  std::string page(const std::string& path) {
    const ApiResponse response = ask("GET", path);
    EXPECT_EQ(response.status, 200);
    EXPECT_EQ(PageCheck(response.body).fault(), "");
    return response.body;
  }
  std::string token() {
    const std::string text = page(finding);
    return text.substr(text.find("name=\"token\" value=\"") + 20, 32);
  }
  using Fields = std::vector<std::pair<std::string, std::string>>;
  ApiResponse add(const Fields& fields, const std::string& file = "", const std::string& name = "photo.jpg") {
    std::string body;
    Fields all = fields;
    all.emplace_back("token", token());
    for (const auto& [key, value] : all)
      body += "--edge\r\nContent-Disposition: form-data; name=\"" + key + "\"\r\n\r\n" + value + "\r\n";
    body += "--edge\r\nContent-Disposition: form-data; name=\"photo\"; filename=\"" + name +
            "\"\r\nContent-Type: image/jpeg\r\n\r\n" + file + "\r\n--edge--\r\n";
    return ask("POST", finding + "/notes", body, kUploadType);
  }
  Json listed() {
    return Json::parse(ask("GET", "/api/v1/findings/20260504-061209-z4-open_circuit/notes").body)["notes"];
  }

  const std::string finding = "/finding/20260504-061209-z4-open_circuit";
  WebTestSite site;
  Api api{site};
};

TEST_F(NoteRoutes, APhotoIsKeptAtItsPlaceAndShownOnPageAndSheet) {
  const ApiResponse done = add({{"place", "A"}, {"words", "green <splice>"}, {"by", "Ana"}},
                               test_jpeg(640, 480, jpeg_segment(0xe1, camera_exif())));
  EXPECT_EQ(done.status, 303) << done.body;
  EXPECT_EQ(done.location, finding + "?said=noted#notes");
  EXPECT_THAT(site.kept_notes.pictures.at(0), Not(HasSubstr("GPS")));
  for (const std::string& path : {finding, finding + "/sheet"}) {
    const std::string text = page(path);
    for (const char* part :
         {"src=\"/api/v1/notes/1/picture\"", "<strong>box A:</strong> green &lt;splice&gt;", "Ana, ",
          "width=\"640\" height=\"480\""})
      EXPECT_THAT(text, HasSubstr(part)) << path;
  }
  EXPECT_THAT(page(finding), HasSubstr("Delete this photo"));
  EXPECT_THAT(page(finding + "/sheet"), Not(HasSubstr("Delete this photo")));
  const Json note = listed()[0];
  EXPECT_EQ(note["at"], "A");
  EXPECT_EQ(note["picture"]["type"], "image/jpeg");
  const ApiResponse picture = ask("GET", note["picture"]["path"].get<std::string>());
  EXPECT_EQ(picture.content_type, "image/jpeg");
  EXPECT_EQ(picture.body, site.kept_notes.pictures[0]);
}

TEST_F(NoteRoutes, ANoteMayBelongToAStretchAndNeedNoPhoto) {
  EXPECT_EQ(add({{"place", "controller>A"}, {"words", "dug up in spring"}}).status, 303);
  EXPECT_EQ(listed()[0]["from"], "controller");
  EXPECT_EQ(listed()[0]["to"], "A");
  EXPECT_TRUE(listed()[0]["picture"].is_null());
  EXPECT_THAT(page(finding), HasSubstr("between the controller and box A:"));
  EXPECT_EQ(ask("GET", "/api/v1/notes/1/picture").status, 404);
}

TEST_F(NoteRoutes, WhatAFileIsCalledSaysNothing) {
  EXPECT_EQ(add({}, test_png(), "../../../etc/passwd").status, 303);
  EXPECT_EQ(listed()[0]["picture"]["type"], "image/png");
  EXPECT_THAT(page(finding), Not(HasSubstr("passwd")));
  for (const std::string& other : {std::string("<html><script>alert(1)</script>"), std::string("GIF89a"),
                                   test_jpeg().substr(0, 40), test_jpeg(60'000, 60'000)}) {
    const ApiResponse refused = add({{"words", "x"}}, other, "photo.jpg");
    EXPECT_EQ(refused.status, 400);
    EXPECT_THAT(refused.content_type, HasSubstr("text/html"));
  }
  EXPECT_EQ(listed().size(), 1U);
}

TEST_F(NoteRoutes, WhatIsNoneOfOursIsRefused) {
  EXPECT_EQ(add({}).status, 400) << "neither a photo nor a word";
  EXPECT_EQ(add({{"place", "Z"}, {"words", "x"}}).status, 400);
  EXPECT_EQ(add({{"evil", "1"}, {"words", "x"}}).status, 400);
  EXPECT_EQ(add({{"token", "guessed"}, {"words", "x"}}).status, 400) << "a name twice";
  EXPECT_EQ(
      ask("POST", finding + "/notes", "token=" + token() + "&words=x", "application/x-www-form-urlencoded")
          .status,
      400);
  const std::string forged =
      "--edge\r\nContent-Disposition: form-data; name=\"words\"\r\n\r\nx\r\n--edge--\r\n";
  EXPECT_EQ(ask("POST", finding + "/notes", forged, kUploadType).status, 403);
  EXPECT_EQ(ask("POST", "/finding/none/notes", forged, kUploadType).status, 403);
  EXPECT_TRUE(listed().empty());
}

TEST_F(NoteRoutes, AFullDiskAndAFullFileAreSaidOnThePage) {
  site.kept_notes.fails = Error{Cause::world, "disk full: database or disk is full"};
  EXPECT_EQ(add({{"words", "x"}}, test_jpeg()).location, finding + "?said=note_not_kept#notes");
  site.kept_notes.fails = Error{Cause::conflict, "a finding has room for 40 notes"};
  EXPECT_EQ(add({{"words", "x"}}).location, finding + "?said=notes_full#notes");
}

TEST_F(NoteRoutes, OneIsDeletedByItsOwnFindingAlone) {
  add({{"words", "wrong box"}});
  site.findings_.push_back(web_test_finding("another"));
  const std::string form = "token=" + token();
  EXPECT_EQ(ask("POST", "/finding/another/notes/1/remove", form).location,
            "/finding/another?said=note_gone#notes");
  EXPECT_EQ(ask("POST", finding + "/notes/x/remove", form).status, 404);
  EXPECT_EQ(ask("POST", finding + "/notes/1/remove", "").status, 403);
  EXPECT_EQ(ask("POST", finding + "/notes/1/remove", form).location, finding + "?said=note_removed#notes");
  EXPECT_TRUE(listed().empty());
}

TEST_F(HttpServerTest, OnlyThePhotoFormMayBeLarge) {
  start();
  const auto post = [&](const std::string& path, std::size_t bytes) {
    Client client = unix_client();
    client.send("POST " + path + " HTTP/1.1\r\nHost: x\r\nConnection: close\r\nContent-Type: " +
                std::string(kUploadType) + "\r\nContent-Length: " + std::to_string(bytes) + "\r\n\r\n");
    client.send(std::string(std::min<std::size_t>(bytes, 3u << 20), 'x'));
    return client.receive().substr(9, 3);
  };
  EXPECT_EQ(post("/finding/x/notes", 3u << 20), "400") << "read whole, and no form";
  EXPECT_EQ(post("/finding/x/notes", kMostPictureBytes * 2), "413");
  EXPECT_EQ(post("/finding/x/test-reading", 3u << 20), "413");
  EXPECT_EQ(post("/api/v1/pause", 3u << 20), "413");
}

// The same over pieces, whose sum nobody says beforehand.
TEST_F(HttpServerTest, APlainFormInPiecesIsCutOffAtItsLimitToo) {
  start();
  Client client = unix_client();
  client.send("POST /pause HTTP/1.1\r\nHost: x\r\nConnection: close\r\nTransfer-Encoding: chunked\r\n\r\n");
  const std::string piece = "10000\r\n" + std::string(0x10000, 'x') + "\r\n";
  for (int i = 0; i < 20; ++i) client.send(piece);
  EXPECT_EQ(client.receive().substr(9, 3), "413");
}

}  // namespace
}  // namespace coilward
