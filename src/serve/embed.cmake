# SPDX-License-Identifier: Apache-2.0
# The page's files as C++ text in isthmus_serve: written when CMake runs, so that whoever compiles the
# sources alone has them too; again when one of them changes.
set(page_dir ${CMAKE_SOURCE_DIR}/src/serve/page)
set(page_files
  "|guide.html|text/html"
  "guide.css|guide.css|text/css"
  "icon.svg|icon.svg|image/svg+xml"
)
file(GLOB page_scripts CONFIGURE_DEPENDS RELATIVE ${page_dir} ${page_dir}/*.js)
foreach(script ${page_scripts})
  list(APPEND page_files "${script}|${script}|text/javascript")
endforeach()

set(page_code "// Made from src/serve/page by src/serve/embed.cmake.\n#include \"serve/files.hpp\"\n\n#include <array>\n\n")
string(APPEND page_code "namespace isthmus::serve {\nnamespace {\nconstexpr std::array kFiles{\n")
foreach(entry IN LISTS page_files)
  string(REGEX MATCH "^([^|]*)\\|([^|]*)\\|(.*)$" _ "${entry}")
  set(served "${CMAKE_MATCH_1}")
  set(source "${CMAKE_MATCH_2}")
  set(type "${CMAKE_MATCH_3}")
  file(READ ${page_dir}/${source} text)
  string(APPEND page_code "    File{\"${served}\", \"${type}\", R\"~page~(${text})~page~\"},\n")
  set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS ${page_dir}/${source})
endforeach()
string(APPEND page_code "};\n}  // namespace\nstd::span<const File> page_files() { return kFiles; }\n}  // namespace isthmus::serve\n")
file(CONFIGURE OUTPUT ${CMAKE_BINARY_DIR}/serve/page_files.cpp CONTENT "${page_code}" @ONLY)
target_sources(isthmus_serve PRIVATE ${CMAKE_BINARY_DIR}/serve/page_files.cpp)
