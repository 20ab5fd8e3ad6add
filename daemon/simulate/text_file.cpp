#include "daemon/simulate/text_file.h"

#include <fstream>

namespace coilward::simulate {

Result<bool> write_text_file(const std::string& path, const std::string& text) {
  if (path.empty()) return true;
  std::ofstream file(path);
  file << text;
  file.close();
  if (!file) return Error{Cause::world, path + ": cannot be written"};
  return true;
}

}  // namespace coilward::simulate
