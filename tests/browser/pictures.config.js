import base from "./playwright.config.js";

export default { ...base, testMatch: "pictures.js" };
