// Runs before the page is drawn, so that what needs a script is never seen to flicker.
document.documentElement.classList.add("js");
