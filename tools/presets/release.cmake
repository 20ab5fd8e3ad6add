# What a board runs. Use: cmake -C tools/presets/release.cmake -S . -B build/release -G Ninja
set(CMAKE_BUILD_TYPE RelWithDebInfo CACHE STRING "")
# Files are compiled together, and would be linked together, whatever of them is needed.
set(CMAKE_CXX_FLAGS_RELWITHDEBINFO "-O2 -g1 -ffunction-sections -fdata-sections" CACHE STRING "")
set(CMAKE_EXE_LINKER_FLAGS_RELWITHDEBINFO "-Wl,--gc-sections" CACHE STRING "")
set(CMAKE_SHARED_LINKER_FLAGS_RELWITHDEBINFO "-Wl,--gc-sections" CACHE STRING "")
set(CMAKE_MODULE_LINKER_FLAGS_RELWITHDEBINFO "-Wl,--gc-sections" CACHE STRING "")
set(COILWARD_TEST_FLAGS "-O0" CACHE STRING "")
# Files of a folder are compiled together: most of a file's time is its headers'. While working on a file, turn it off.
set(CMAKE_UNITY_BUILD ON CACHE BOOL "")
set(CMAKE_UNITY_BUILD_BATCH_SIZE 8 CACHE STRING "")
