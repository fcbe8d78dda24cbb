// Before anything is painted: the theme that somebody chose here.
try {
  const chosen = localStorage.getItem("nextprobe-theme");
  if (chosen) document.documentElement.dataset.theme = chosen;
} catch { /* no storage: the theme of the system */ }
