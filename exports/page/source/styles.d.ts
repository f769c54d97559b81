/** Styles are bundled beside the code. */
declare module "*.css";
