# page.cmake: how a program is linked for a browser's page.
# Threads: the findings are worked out beside the page. DYNAMIC_EXECUTION=0: no eval, see the page's
# content security policy. 512 MB: phones refuse to reserve much more for shared memory.
function(adret_page program)
  set(assets ${PROJECT_SOURCE_DIR}/build/web-assets)
  set(files ${PROJECT_SOURCE_DIR}/platform/web/memory.js)
  target_link_options(${program} PRIVATE -pthread -O2
    -sPTHREAD_POOL_SIZE=2 -sINITIAL_MEMORY=64MB -sALLOW_MEMORY_GROWTH=1 -sMAXIMUM_MEMORY=512MB
    -sENVIRONMENT=web,worker -sDYNAMIC_EXECUTION=0 -sFORCE_FILESYSTEM=1 -sEXIT_RUNTIME=0
    "-sEXPORTED_FUNCTIONS=_main,_malloc,_free" "-sEXPORTED_RUNTIME_METHODS=UTF8ToString,FS,addRunDependency,removeRunDependency"
    --pre-js ${files} --preload-file ${assets}@/)
  set_target_properties(${program} PROPERTIES LINK_DEPENDS ${files})
endfunction()
