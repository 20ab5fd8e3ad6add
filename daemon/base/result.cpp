#include "daemon/base/result.h"

#include <fmt/format.h>

#include <stdexcept>

namespace coilward {

void throw_exception_from_error(const Error& error, const boost::source_location& where) {
  throw std::logic_error(fmt::format("{} ({}:{})", error.what, where.file_name(), where.line()));
}

}  // namespace coilward
