const app = document.querySelector("#app");
if (app) app.textContent = "Unsown";
