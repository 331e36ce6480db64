/** What happens to the page: network, sight, being put aside, other windows of the app, and the promise to keep the store. */

export interface Page {
  /** Calls `wake` when the network came back, the page is seen again or came back from being put aside. */
  onWake(wake: () => void): void;
  onNetworkLost(lost: () => void): void;
  /** Calls `aside` when the page is put aside or ends. */
  onAside(aside: () => void): void;
  onOtherWindow(changed: () => void): void;
  /** Tells the other windows of the app that the log has grown or that something came from the server. */
  tellOtherWindows(): void;
  /** Whether the browser promises not to clear the store by itself. May take for ever: never wait for it to start. */
  askToPersist(): Promise<boolean>;
}

export function browserPage(): Page {
  const channel = new BroadcastChannel("hubheld");
  const tell = channel.postMessage.bind(channel);
  return {
    onWake(wake) {
      addEventListener("online", wake);
      addEventListener("pageshow", (event) => {
        if (event.persisted) wake();
      });
      document.addEventListener("visibilitychange", () => {
        if (document.visibilityState === "visible") wake();
      });
    },
    onNetworkLost(lost) {
      addEventListener("offline", lost);
    },
    onAside(aside) {
      addEventListener("pagehide", aside);
    },
    onOtherWindow(changed) {
      channel.addEventListener("message", changed);
    },
    tellOtherWindows() {
      tell("changed");
    },
    async askToPersist() {
      return (await navigator.storage.persisted()) || navigator.storage.persist();
    },
  };
}
