// app/words/sentence.h: the words of a sentence or an error that the code below `app` names by key.
// Its words are `KEY = words with {0}` in app/words/*/; numbers get the reader's decimal mark. Where
// the files have KEY.other, the number that is {0} chooses between KEY.one, KEY.few, ... A place such as "line 3" is said in the reader's language where the files have `where.line`.
#pragma once

#include <string>
#include <string_view>

#include "horizon/result.h"

namespace app {

std::string words_of(const horizon::Sentence& sentence);
std::string words_of_place(std::string_view where);  // "line 3" -> "Zeile 3"
// "Line 3: ..." as the screens show it: what, then where in brackets.
std::string in_words(const horizon::Error& error);

}  // namespace app
