/* calc_window.h - `stillroom calc window`: would outdoor air dry this room? */
#ifndef TOOL_CALC_WINDOW_H
#define TOOL_CALC_WINDOW_H

int calc_window_main(int argc, char **argv);

#endif
