export * from "../core/place";
