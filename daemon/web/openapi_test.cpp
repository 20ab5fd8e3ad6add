// The OpenAPI document and the routes say the same.
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <set>
#include <sstream>

#include "daemon/web/api.h"
#include "daemon/web/openapi_text.h"

namespace coilward {
namespace {

const Json& document() {
  static const Json json = Json::parse(kOpenApiText);
  return json;
}

std::set<std::string> words(const std::string& text) {
  std::istringstream in(text);
  return {std::istream_iterator<std::string>(in), {}};
}

std::string lower(std::string text) {
  for (char& c : text) c = static_cast<char>(std::tolower(c));
  return text;
}

std::set<std::string> described_keys(const Json& operation) {
  std::set<std::string> keys;
  for (const Json& parameter : operation.value("parameters", Json::array()))
    if (parameter["in"] == "query") keys.insert(parameter["name"].get<std::string>());
  if (!operation.contains("requestBody")) return keys;
  const Json& content = operation["requestBody"]["content"];  // JSON, or fields of a form
  EXPECT_EQ(content.size(), 1u);
  const Json& schema = content.front()["schema"];
  for (const auto& [name, value] : schema["properties"].items()) keys.insert(name);
  return keys;
}

TEST(OpenApi, every_route_is_described_with_its_keys) {
  for (const Route& route : Api::routes()) {
    ASSERT_TRUE(document()["paths"].contains(route.pattern)) << route.pattern;
    const Json& path = document()["paths"][route.pattern];
    ASSERT_TRUE(path.contains(lower(route.method))) << route.method << " " << route.pattern;
    EXPECT_EQ(described_keys(path[lower(route.method)]), words(route.keys)) << route.pattern;
  }
}

TEST(OpenApi, every_route_says_who_may_use_it) {
  const Json session = Json::parse(R"([{"session": []}])"),
             session_or_link = Json::parse(R"([{"session": []}, {"link": []}])");
  for (const Route& route : Api::routes()) {
    const Json& operation = document()["paths"][route.pattern][lower(route.method)];
    EXPECT_EQ(operation["x-need"], need_name(route.need)) << route.pattern;
    const bool asks = route.need != Need::open && route.need != Need::local;
    const Json expected = !asks ? Json::array() : route.need == Need::read ? session_or_link : session;
    EXPECT_EQ(operation["security"], expected) << route.pattern;
    for (const Json& way : operation["security"])
      EXPECT_TRUE(document()["components"]["securitySchemes"].contains(way.begin().key()));
  }
}

TEST(OpenApi, nothing_is_described_that_is_not_there) {
  std::set<std::string> routes;
  for (const Route& route : Api::routes()) routes.insert(lower(route.method) + " " + route.pattern);
  for (const auto& [path, operations] : document()["paths"].items())
    for (const auto& [method, operation] : operations.items())
      EXPECT_TRUE(routes.contains(method + " " + path)) << method << " " << path;
}

void check_references(const Json& json) {
  if (json.is_object() && json.contains("$ref")) {
    const std::string pointer = json["$ref"].get<std::string>().substr(1);
    EXPECT_TRUE(document().contains(Json::json_pointer(pointer))) << pointer;
  }
  if (json.is_structured())
    for (const Json& part : json) check_references(part);
}

TEST(OpenApi, every_reference_leads_somewhere) { check_references(document()); }

TEST(OpenApi, path_parameters_are_described) {
  for (const auto& [path, operations] : document()["paths"].items())
    for (const auto& [method, operation] : operations.items()) {
      std::size_t in_path = 0;
      for (const Json& parameter : operation.value("parameters", Json::array()))
        if (parameter["in"] == "path") {
          ++in_path;
          EXPECT_NE(path.find("{" + parameter["name"].get<std::string>() + "}"), std::string::npos) << path;
        }
      EXPECT_EQ(in_path, static_cast<std::size_t>(std::count(path.begin(), path.end(), '{'))) << path;
    }
}

}  // namespace
}  // namespace coilward
