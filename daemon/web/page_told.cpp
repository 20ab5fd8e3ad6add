// The page at /told: each way in which people are told, how it does, a test of it, and the phones.
#include <fmt/format.h>

#include <algorithm>

#include "daemon/web/assets.h"
#include "daemon/web/html.h"
#include "daemon/web/page_frame.h"
#include "daemon/web/page_words.h"
#include "daemon/web/query.h"

namespace coilward {
namespace {

constexpr std::string_view kWebPush = "webpush";

std::string told_path(const NotifierView& notifier) { return "/told/" + percent_encoded(notifier.name); }

std::string test_line(const NotifierView& n, const Config& config) {
  if (n.tested == kNever) return {};
  return fmt::format("<p><strong>{}</strong> {}. It said: <q>{}</q></p>\n",
                     n.test_taken ? "The test was taken" : "The test failed", time_tag(n.tested, config),
                     html(n.test_words.empty() ? "nothing" : n.test_words));
}

std::string state_of(const NotifierView& n, const Config& config) {
  std::string out = fmt::format("<p>{}", n.ok ? "Sound." : "<strong>In trouble:</strong> " + html(n.why));
  if (n.last_attempt != kNever)
    out += fmt::format(" Last sent to {}. It said: <q>{}</q>", time_tag(n.last_attempt, config),
                       html(n.last_words.empty() ? "nothing" : n.last_words));
  else if (n.ok)
    out += " Nothing was to be sent since coilward started.";
  if (n.refused > 0)
    out += fmt::format(" <strong>Not delivered since coilward started: {}.</strong>", n.refused);
  return out + "</p>\n";
}

std::string phone_item(const NotifierView& n, const PhoneView& phone, const Call& call) {
  return fmt::format(
      "<li class=\"card fine\" data-phone=\"{0}\"><form method=\"post\" action=\"{1}/phones/{0}/remove\" "
      "class=\"row\">{2}<p><span class=\"strong\">{3}</span> <span class=\"strong\" data-this hidden>(this "
      "one)</span></p><p class=\"soft\">Since {4}, through {5}</p><button>Do not tell {3} any "
      "more</button></form></li>\n",
      phone.id, told_path(n), token_field(call), html(phone.label), time_tag(phone.since, call.site.config()),
      html(phone.service));
}

std::string subscribe_form(const NotifierView& n, const std::string& key, const Call& call) {
  return fmt::format(
      "<form method=\"post\" action=\"{0}/phones\" class=\"row\" data-tell data-key=\"{1}\">{2}"
      "<label for=\"label-{3}\">What this phone is called</label><input id=\"label-{3}\" name=\"label\" "
      "maxlength=\"40\" placeholder=\"Anna&#39;s phone\"><button hidden>Tell this phone</button>"
      "<p class=\"said\" role=\"status\" data-state>A phone is asked by a script, which this browser does "
      "not "
      "run.</p></form>\n"
      "<p class=\"soft\">A browser lets a page notify only in a secure context: over TLS (https), or as "
      "localhost on the machine itself. On an iPhone or iPad put this page on the home screen first.</p>\n",
      told_path(n), html(key), token_field(call), percent_encoded(n.name));
}

std::string phones_of(const NotifierView& n, const Call& call) {
  PhoneDesk* desk = call.site.phone_desk();
  if (n.plugin != kWebPush || !desk) return {};
  const auto key = desk->key(n.name);
  const auto phones = desk->phones(n.name);
  if (!key || !phones)
    return fmt::format("<p>Phones cannot be told: {}</p>\n",
                       html(key ? phones.error().what : key.error().what));
  std::string out = "<h3>Phones</h3>\n";
  out += phones->empty() ? "<p>No phone is told yet.</p>\n" : "<ul class=\"cards\">\n";
  for (const PhoneView& phone : *phones) out += phone_item(n, phone, call);
  return out + (phones->empty() ? "" : "</ul>\n") + subscribe_form(n, *key, call);
}

std::string notifier_part(const NotifierView& n, const Call& call) {
  const Config& config = call.site.config();
  return fmt::format(
      "<section><h2>{0} {1}</h2>\n<p class=\"soft\">By {2}, from severity {3} on</p>\n{4}{5}"
      "<form method=\"post\" action=\"{6}/test\" class=\"row\">{7}<button>Send a test by "
      "{1}</button></form>\n{8}"
      "</section>\n",
      icon(n.ok ? "fine" : "blind"), html(n.name), html(n.plugin), severity_name(n.at_least),
      state_of(n, config), test_line(n, config), told_path(n), token_field(call), phones_of(n, call));
}

}  // namespace

ApiResponse get_told_page(const Call& call) {
  PageParts parts{"Who is told", "<h1>Who is told</h1>\n"};
  parts.head = fmt::format("<script defer src=\"{}\"></script>", asset_path("told.js"));
  const auto notifiers = call.site.notifiers();
  if (notifiers.empty())
    parts.main +=
        "<p>Nobody: no notifier is configured. A [[notifier]] in the configuration names one way to tell "
        "someone: webpush for phones, email, mqtt, webhook or command.</p>\n";
  for (const NotifierView& notifier : notifiers) parts.main += notifier_part(notifier, call);
  return page_response(call, parts);
}

}  // namespace coilward
