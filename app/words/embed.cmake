# Writes the word files into one source file. cmake -DOUT=... -DFOLDER=... -P embed.cmake
file(GLOB files ${FOLDER}/*/*.txt)
list(SORT files)
set(rows "")
set(count 0)
foreach(file ${files})
  get_filename_component(folder ${file} DIRECTORY)
  get_filename_component(code ${folder} NAME)
  file(READ ${file} text)
  string(APPEND rows "    {\"${code}\", R\"words(${text})words\"},\n")
  math(EXPR count "${count} + 1")
endforeach()
file(WRITE ${OUT} "#include <string_view>
namespace app {
struct WordFile {
  std::string_view code, text;
};
extern const WordFile kWordFiles[];
extern const int kWordFileCount;
const WordFile kWordFiles[] = {
${rows}};
const int kWordFileCount = ${count};
}  // namespace app
")
