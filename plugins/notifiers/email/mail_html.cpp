#include "plugins/notifiers/email/mail_html.h"

#include <fmt/format.h>

#include <cctype>

namespace coilward_plugins {
namespace {

using Json = nlohmann::json;

// No colours but where they mean something: the mail program's own are right by day and by night.
constexpr std::string_view kStyle =
    ":root{color-scheme:light dark;supported-color-schemes:light dark}"
    "body{margin:0;padding:12px;font:16px/1.45 system-ui,sans-serif;overflow-wrap:break-word}"
    "div{max-width:36em;margin:0 auto}h1{font-size:20px;line-height:1.25;margin:4px 0 12px}"
    "p{margin:0 0 12px}svg{display:block;width:100%;max-width:320px;height:auto}";

std::string text_in(const Json& json, const char* key) {
  const auto it = json.find(key);
  return it != json.end() && it->is_string() ? it->get<std::string>() : std::string();
}

// The bar beside the headline: seen on white and on black, and a word says the same.
std::string_view bar_colour(const std::string& severity) {
  return severity == "urgent" ? "#d0313d" : severity == "soon" ? "#b86e00" : "#5b7f8c";
}

// What stands beside the site's name: how severe it is, or that it is over or a test.
std::string state_word(const Json& alert) {
  const std::string kind = text_in(alert, "kind");
  return kind == "closed" ? "over" : kind == "test" ? "test" : text_in(alert, "severity");
}

// "[Juniper Row 12] Zone 4 ..." has the site's name above it already.
std::string headline_of(const Json& alert) {
  std::string subject = text_in(alert, "subject");
  const std::string site = "[" + text_in(alert, "site_name") + "] ";
  if (subject.starts_with(site)) subject.erase(0, site.size());
  return subject;
}

// Paragraphs between empty lines; the first line is left out when the headline says it.
std::string paragraphs(std::string text, const std::string& headline) {
  for (const std::string& said : {headline + ".\n", headline + "\n"})
    if (text.starts_with(said)) {
      text.erase(0, said.size());
      break;
    }
  std::string out;
  while (!text.empty()) {
    const auto end = text.find("\n\n");
    std::string part = text.substr(0, end);
    text.erase(0, end == std::string::npos ? end : end + 2);
    while (part.ends_with('\n')) part.pop_back();
    if (part.starts_with('\n')) part.erase(0, 1);
    if (part.empty()) continue;
    std::string lines;
    for (const char c : html_text(part)) lines += c == '\n' ? std::string("<br>\n") : std::string(1, c);
    out += "<p>" + lines + "</p>\n";
  }
  return out;
}

std::string drawings(const Json& alert) {
  std::string out;
  if (const auto draws = alert.find("draws"); draws != alert.end() && draws->is_array())
    for (const Json& draw : *draws) out += draw_part(draw);
  return out;
}

std::string button(const Json& alert, const std::string& page) {
  if (page.empty()) return {};
  return fmt::format(
      "<p><a href=\"{}\" style=\"display:inline-block;color:inherit;padding:10px 16px;border:2px "
      "solid;border-radius:4px;"
      "font-weight:bold;text-decoration:none\">Open its page</a></p>\n"
      "<p>There you stop the repeats, pause alerts or mark a repair, each with a button. To open it changes "
      "nothing.</p>\n",
      html_text(page_link(alert, page)));
}

}  // namespace

std::string url_text(std::string_view text) {
  std::string out;
  for (const char c : text) {
    const bool plain = std::isalnum(static_cast<unsigned char>(c)) || c == '-' || c == '_' || c == '.';
    out += plain ? std::string(1, c) : fmt::format("%{:02X}", static_cast<unsigned char>(c));
  }
  return out;
}

std::string html_text(std::string_view text) {
  std::string out;
  for (const char c : text) switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      default:
        out += c;
    }
  return out;
}

std::string page_link(const Json& alert, const std::string& page) {
  const auto findings = alert.find("findings");
  if (findings == alert.end() || !findings->is_array() || findings->empty()) return page + "/";
  return page + "/finding/" + url_text(text_in(findings->front(), "id"));
}

std::string mail_html(const Json& alert, const std::string& page) {
  const std::string headline = headline_of(alert), severity = text_in(alert, "severity");
  return fmt::format(
      "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">\n"
      "<meta name=\"viewport\" content=\"width=device-width,initial-scale=1\">\n"
      "<meta name=\"color-scheme\" content=\"light dark\">\n"
      "<meta name=\"supported-color-schemes\" content=\"light dark\">\n"
      "<title>{0}</title>\n<style>{1}</style></head>\n<body><div role=\"main\">\n"
      "<p>{2}: <strong>{3}</strong></p>\n"
      "<h1 style=\"border-left:6px solid {4};padding-left:10px\">{5}</h1>\n{6}{7}{8}</div></body></html>\n",
      html_text(text_in(alert, "subject")), kStyle, html_text(text_in(alert, "site_name")),
      html_text(state_word(alert)), bar_colour(severity), html_text(headline),
      paragraphs(text_in(alert, "text"), headline), drawings(alert), button(alert, page));
}

}  // namespace coilward_plugins
