// A form with a file (multipart/form-data, RFC 7578): its plain fields, and the content of one file. The name
// and the type that come with the file are thrown away unread. Thread: any.
#pragma once

#include <string>
#include <string_view>

#include "daemon/web/form_guard.h"

namespace coilward {

struct UploadForm {
  FormFields fields;
  std::string_view file;   // within the body; empty: none was chosen
  std::string file_field;  // its field's name; empty: there was none
};

// More are not our form. A field that is not a file is a few words.
inline constexpr std::size_t kMostParts = 12, kMostPartHead = 2048, kMostFieldBytes = 8192;

// bad_input: not such a body, a part that is cut off, a name twice, two files, or beyond the limits.
Result<UploadForm> parse_upload(std::string_view body, std::string_view content_type);

}  // namespace coilward
