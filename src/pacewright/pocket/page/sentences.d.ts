// What is written from the tool's own sentences when the page is built, for an editor or a checker of types:
// tsc --noEmit --allowJs --checkJs --target es2022 --lib es2023,dom,dom.iterable --module esnext \
//   --moduleResolution bundler --strictNullChecks --noUnusedLocals sentences.d.ts engine/*.js screen/*.js
declare const COMPLAINTS: Record<string, ((of: any) => [string, string, string])[]>;
declare const CAUTION: string;
declare const FIRST_WORDS: Record<string, string>;
declare const WHOLE_REMARKS: Record<string, string>;
declare function say_way(...given: any[]): string[];
declare function explain_way(...given: any[]): string[];
declare function way_tables(...given: any[]): any[];
declare function say_closures(...given: any[]): string[];
declare function say_reckoning(...given: any[]): string[];
declare function say_answer_line(...given: any[]): string;
declare function station_table(...given: any[]): any;
declare function say_tally(...given: any[]): string;
declare function say_place(...given: any[]): string;
declare function _ground_not_told(...given: any[]): string[];
