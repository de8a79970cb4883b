/* internal.h - inside the library: functions that its files share and nobody else may call. */
#ifndef LIB_INTERNAL_H
#define LIB_INTERNAL_H

/* Not exported from the shared library, so the compiler may also inline it. */
#ifdef __GNUC__
#define LIB_INTERNAL __attribute__((visibility("hidden")))
#else
#define LIB_INTERNAL
#endif

#endif
