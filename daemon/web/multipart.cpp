#include "daemon/web/multipart.h"

#include <algorithm>
#include <optional>

namespace coilward {
namespace {

Error broken_form(const char* what) {
  return {Cause::bad_input, std::string("the form is damaged: ") + what};
}

std::string lowered(std::string_view text) {
  std::string out(text);
  std::transform(out.begin(), out.end(), out.begin(),
                 [](char c) { return c >= 'A' && c <= 'Z' ? c + 32 : c; });
  return out;
}

// The value of a parameter: key=value or key="value" after a semicolon. Browsers percent-encode a quote in a
// name (WHATWG HTML, section 4.10.21.8), so that the next quote ends it.
std::optional<std::string> parameter(std::string_view text, std::string_view key) {
  const std::string low = lowered(text);
  for (std::size_t at = low.find(';'); at != std::string::npos; at = low.find(';', at + 1)) {
    std::size_t begin = low.find_first_not_of(" \t", at + 1);
    if (begin == std::string::npos || low.compare(begin, key.size(), key) != 0 ||
        low[begin + key.size()] != '=')
      continue;
    begin += key.size() + 1;
    const bool quoted = begin < text.size() && text[begin] == '"';
    if (quoted) ++begin;
    const std::size_t end = std::min(text.find_first_of(quoted ? "\"" : "; \t", begin), text.size());
    return std::string(text.substr(begin, end - begin));
  }
  return std::nullopt;
}

// The Content-Disposition of a part's head; empty: it has none.
std::string disposition_of(std::string_view head) {
  while (!head.empty()) {
    const std::size_t end = std::min(head.find("\r\n"), head.size());
    const std::string_view line = head.substr(0, end);
    if (lowered(line.substr(0, 20)) == "content-disposition:") return std::string(line.substr(20));
    head.remove_prefix(std::min(end + 2, head.size()));
  }
  return {};
}

Result<bool> take_part(std::string_view part, UploadForm& form) {
  const std::size_t head_end = part.find("\r\n\r\n");
  if (head_end == std::string_view::npos || head_end > kMostPartHead)
    return broken_form("a part has no head");
  const std::string disposition = disposition_of(part.substr(0, head_end));
  const auto name = parameter(disposition, "name");
  if (!name || name->empty()) return broken_form("a part has no name");
  const std::string_view content = part.substr(head_end + 4);
  if (form.fields.contains(*name) || form.file_field == *name) return broken_form("a name twice");
  if (parameter(disposition, "filename")) {
    if (content.empty()) return true;  // an input that nothing was chosen for
    if (!form.file_field.empty()) return broken_form("two files");
    form.file_field = *name;
    form.file = content;
    return true;
  }
  if (content.size() > kMostFieldBytes) return broken_form("a field is too long");
  form.fields.emplace(*name, content);
  return true;
}

}  // namespace

Result<UploadForm> parse_upload(std::string_view body, std::string_view content_type) {
  const auto boundary = parameter(content_type, "boundary");
  if (!boundary || boundary->empty() || boundary->size() > 70) return broken_form("it has no boundary");
  const std::string first = "--" + *boundary, between = "\r\n" + first;
  if (!body.starts_with(first)) return broken_form("it does not begin with its boundary");
  body.remove_prefix(first.size());
  UploadForm form;
  for (std::size_t parts = 0; parts <= kMostParts; ++parts) {
    if (body.starts_with("--")) return form;
    if (!body.starts_with("\r\n")) break;
    body.remove_prefix(2);
    const std::size_t end = body.find(between);
    if (end == std::string_view::npos) return broken_form("it is cut off");
    if (auto taken = take_part(body.substr(0, end), form); !taken) return taken.error();
    body.remove_prefix(end + between.size());
  }
  return broken_form("it has too many parts, or is no form");
}

}  // namespace coilward
