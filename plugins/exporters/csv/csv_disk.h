// The few file operations of csv_store, each whole or an error in words (empty: it worked).
#pragma once

#include <cstdint>
#include <string>

namespace coilward_plugins {

// Appends and, when `sync`, waits until it is on the disk. A new file gets `header` first.
std::string append(const std::string& path, const std::string& header, const std::string& text, bool sync);
// 0 when there is no such file.
std::int64_t file_size(const std::string& path);
std::string cut(const std::string& path, std::int64_t size);
// Replaces a file in one step: a reader, or a kill, sees the old or the new one.
std::string replace(const std::string& directory, const std::string& name, const std::string& text,
                    bool sync);
// found is false when there is no such file.
std::string read(const std::string& path, std::string& text, bool& found);

}  // namespace coilward_plugins
