# One folder, one library, one test program. A file named *_test.cpp belongs to the folder's test program, the
# rest to its library, so that adding a file needs no change here.
find_package(GTest REQUIRED)
find_package(fmt REQUIRED)
find_package(nlohmann_json REQUIRED)
find_package(spdlog REQUIRED)
find_package(Threads REQUIRED)
find_program(CCACHE ccache)
if(CCACHE)
  set(CMAKE_C_COMPILER_LAUNCHER ${CCACHE})
  set(CMAKE_CXX_COMPILER_LAUNCHER ${CCACHE})
endif()

add_library(coilward_options INTERFACE)
target_compile_options(coilward_options INTERFACE -Wall -Wextra -Wpedantic -Wshadow -Wno-missing-field-initializers)
target_include_directories(coilward_options INTERFACE ${CMAKE_SOURCE_DIR})
target_link_libraries(coilward_options INTERFACE fmt::fmt Threads::Threads)

set(COILWARD_SANITIZE "" CACHE STRING "sanitizers for every target, as in -fsanitize=")
if(COILWARD_SANITIZE)
  add_compile_options(-fsanitize=${COILWARD_SANITIZE} -fno-omit-frame-pointer -fno-sanitize-recover=all -g1)
  add_link_options(-fsanitize=${COILWARD_SANITIZE})
  if(COILWARD_SANITIZE MATCHES thread)
    add_compile_options(-Wno-tsan)  # atomic_thread_fence in Asio; gcc cannot instrument it
  endif()
endif()

# Two thirds of a test's compile time is spent on making it fast, and again as much on looking for undefined behaviour
# in it: only what is tested is worth that.
set(COILWARD_TEST_FLAGS "" CACHE STRING "compiler flags for test programs, after all others")

# coilward_test(NAME FILES... [LIBS ...] [DEPENDS ...] [TIMEOUT seconds] [COST seconds]): one GoogleTest program, its
# cases registered with CTest. COST: about what the longest takes, where that is long: the longest begin first.
# TEST_BIN_DIR in a test's environment is where the built programs are.
function(coilward_test name)
  cmake_parse_arguments(ARG "" "TIMEOUT;COST" "FILES;LIBS;DEPENDS" ${ARGN})
  add_executable(${name} ${ARG_FILES})
  target_link_libraries(${name} PRIVATE coilward_options ${ARG_LIBS} GTest::gtest GTest::gmock GTest::gtest_main)
  target_compile_options(${name} PRIVATE ${COILWARD_TEST_FLAGS})
  set_target_properties(${name} PROPERTIES UNITY_BUILD_BATCH_SIZE 16)
  target_compile_definitions(${name} PRIVATE COILWARD_SOURCE_DIR="${CMAKE_SOURCE_DIR}"
    COILWARD_BINARY_DIR="${CMAKE_BINARY_DIR}")
  if(ARG_DEPENDS)
    add_dependencies(${name} ${ARG_DEPENDS})
  endif()
  if(NOT ARG_TIMEOUT)
    set(ARG_TIMEOUT 60)
  endif()
  if(NOT ARG_COST)
    set(ARG_COST 1)
  endif()
  include(GoogleTest)
  gtest_discover_tests(${name} DISCOVERY_MODE PRE_TEST PROPERTIES TIMEOUT ${ARG_TIMEOUT} COST ${ARG_COST})
endfunction()

# coilward_library(NAME [LIBS ...] [TEST_LIBS ...] [TEST_DEPENDS ...] [TEST_TIMEOUT seconds]): the folder's library and tests.
function(coilward_library name)
  cmake_parse_arguments(ARG "" "TEST_TIMEOUT" "LIBS;TEST_LIBS;TEST_DEPENDS" ${ARGN})
  file(GLOB sources CONFIGURE_DEPENDS ${CMAKE_CURRENT_SOURCE_DIR}/*.cpp)
  set(tests ${sources})
  list(FILTER sources EXCLUDE REGEX "_(test|main)\\.cpp$")
  list(FILTER tests INCLUDE REGEX "_test\\.cpp$")
  if(sources)
    add_library(coilward_${name} STATIC ${sources})
    target_link_libraries(coilward_${name} PUBLIC coilward_options ${ARG_LIBS})
  else()
    add_library(coilward_${name} INTERFACE)
    target_link_libraries(coilward_${name} INTERFACE coilward_options ${ARG_LIBS})
  endif()
  if(tests)
    coilward_test(${name}_test FILES ${tests} LIBS coilward_${name} ${ARG_TEST_LIBS} DEPENDS ${ARG_TEST_DEPENDS}
      TIMEOUT ${ARG_TEST_TIMEOUT})
  endif()
endfunction()
