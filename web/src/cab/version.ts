// The version this page was built from, put in by the build.
declare const PAGE_VERSION: string;

export const VERSION = typeof PAGE_VERSION === "undefined" ? "" : PAGE_VERSION;
