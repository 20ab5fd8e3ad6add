#include <boost/beast/http/parser.hpp>
#include <boost/beast/http/string_body.hpp>

#include "daemon/web/form_guard.h"
#include "daemon/web/http_request.h"
#include "daemon/web/query.h"
#include "daemon/web/web_test_site.h"
#include "tests/fuzz/fuzz_targets.h"

namespace coilward {
namespace {

namespace http = boost::beast::http;
constexpr int kMostPieces = 50;

WebTestSite& site() {
  static auto made = [] {
    auto site = std::make_unique<WebTestSite>();
    site->findings_ = {web_test_finding()};
    Run run;
    run.zone = 4;
    run.start = test_now() - std::chrono::hours(2);
    run.end = test_now() - std::chrono::hours(1);
    std::vector<Reading> readings;
    for (int i = 0; i < 300; ++i) {
      Reading reading;
      reading.channel = {ChannelKind::zone_current, 4};
      reading.time = run.start + std::chrono::seconds(i);
      reading.value = 0.2 + 0.0001 * i;
      readings.push_back(reading);
    }
    site->keep(readings, {run});
    return site;
  }();
  return *made;
}

void drain(ApiResponse& response) {
  must_hold(response.status >= 200 && response.status < 600, "an answer has a status");
  must_hold(response.status != 500, "no request is an error of ours");
  for (int i = 0; response.pieces && i < kMostPieces; ++i) {
    const auto piece = response.pieces();
    if (!piece || piece->empty()) return;
  }
  if (response.live) response.live();
}

}  // namespace

void fuzz_http(std::string_view input) {
  if (input.empty()) return;
  http::request_parser<http::string_body> parser;
  parser.header_limit(8192);
  parser.body_limit(65536);
  parser.eager(true);
  boost::system::error_code error;
  parser.put(boost::asio::buffer(input.data() + 1, input.size() - 1), error);
  if (error || !parser.is_header_done()) return;
  const auto& message = parser.get();
  const auto text = [](const auto& view) { return std::string_view(view.data(), view.size()); };
  const RequestHead head{text(message.method_string()),      text(message.target()),
                         text(message[http::field::host]),   input[0] % 2 == 0,
                         text(message[http::field::origin]), text(message["Sec-Fetch-Site"])};
  if (auto refusal = refused(head)) return drain(*refusal);
  auto request = request_of(head);
  if (!request) return;
  request->body = message.body();
  site().kept_rows.clear();
  static Api api(site());
  int answers = 0;
  api.handle(*request, [&](ApiResponse response) { ++answers, drain(response); });
  if (auto alert = std::exchange(site().waiting_alert, nullptr)) alert();
  must_hold(answers == 1, "every request has one answer");
}

void fuzz_query(std::string_view input) {
  const auto now = test_now();
  if (const auto length = parse_duration(input))
    must_hold(length->count() >= 0, "a length is no less than nothing");
  (void)parse_when(input, now, "America/Boise");
  (void)parse_number(input, -10, 1000, "number");
  (void)parse_form(input);
  const auto decoded = percent_decoded(input);
  const std::string encoded = percent_encoded(input);
  const auto back = percent_decoded(encoded);
  const bool zero = input.find('\0') != std::string_view::npos;
  must_hold(zero ? !back.has_value() : back && *back == input, "encoded text comes back");
  if (decoded) must_hold(decoded->size() <= input.size(), "decoding makes nothing longer");
}

}  // namespace coilward
