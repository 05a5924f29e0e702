// The floor: solids of the job, turned by hand, named under the pointer, picked by a click.
import { OrbitControls, THREE } from "nicegui-scene";

const STEELS = ["#8a939a", "#9a9184", "#737d87", "#b0afab", "#837a70"];
const WAYS = { corner: [1, 0.9, 0.75], side: [0, 1, 0.0001], front: [1, 0, 0.0001], top: [-0.0001, 0, 1] };

function numbers(text, Kind) {
  const bytes = Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
  return new Kind(bytes.buffer);
}

function ink(name) {
  return getComputedStyle(document.documentElement).getPropertyValue(name).trim();
}

export default {
  template: `<div class="floor-view"><canvas role="img" tabindex="0" aria-label="The job in space: drag to turn, scroll to come closer; every part is also in the list"></canvas>
    <output class="floor-name" aria-hidden="true"></output></div>`,
  mounted() {
    this.canvas = this.$el.querySelector("canvas");
    this.label = this.$el.querySelector("output");
    this.scene = new THREE.Scene();
    this.parts = new THREE.Group();
    this.scene.add(this.parts);
    this.scene.add(new THREE.HemisphereLight(0xffffff, 0x555048, 2.2));
    const light = new THREE.DirectionalLight(0xffffff, 1.6);
    light.position.set(3, 4, 8);
    this.scene.add(light);
    this.camera = new THREE.PerspectiveCamera(35, 1, 0.01, 200);
    this.camera.up.set(0, 0, 1);
    this.camera.position.set(3, 3, 2);
    this.renderer = new THREE.WebGLRenderer({ canvas: this.canvas, antialias: true, alpha: true });
    this.controls = new OrbitControls(this.camera, this.canvas);
    this.controls.addEventListener("change", () => this.draw());
    this.ray = new THREE.Raycaster();
    this.picked = "";
    this.worst = 0;
    this.canvas.addEventListener("pointerdown", (e) => (this.from = [e.clientX, e.clientY]));
    this.canvas.addEventListener("pointermove", (e) => this.hover(e));
    this.canvas.addEventListener("click", (e) => this.click(e));
    this.sizes = new ResizeObserver(() => this.resize());
    this.sizes.observe(this.$el);
    this.resize();
    this.$el.floor = this;
  },
  unmounted() {
    this.sizes.disconnect();
    this.renderer.dispose();
  },
  methods: {
    async show(address) {
      const answer = await fetch(address);
      if (!answer.ok) return;
      const data = await answer.json();
      const turn = (this.turn = (this.turn || 0) + 1);
      const fresh = new THREE.Group();
      let start = performance.now();
      for (const thing of data.things) {
        fresh.add(this.solid(thing));
        const spent = performance.now() - start;
        this.worst = Math.max(this.worst, spent);
        if (spent < 25) continue;
        await new Promise((go) => setTimeout(go)); // the page stays answerable between slices
        if (turn !== this.turn) return this.clear(fresh);
        start = performance.now();
      }
      const first = this.parts.children.length === 0;
      for (const point of data.points) fresh.add(this.point(point));
      fresh.add(this.ground());
      this.metals = [...new Set(data.things.map((t) => t.material).filter(Boolean))];
      this.scene.remove(this.parts);
      this.clear(this.parts);
      this.scene.add((this.parts = fresh));
      this.repaint();
      if (first) this.look("corner");
      this.$el.dataset.things = data.things.length;
    },
    clear(group) {
      for (const part of group.children) part.traverse((o) => o.geometry?.dispose());
      group.clear();
    },
    solid(thing) {
      const shape = new THREE.BufferGeometry();
      shape.setAttribute("position", new THREE.BufferAttribute(numbers(thing.vertices, Float32Array), 3));
      shape.setIndex(new THREE.BufferAttribute(numbers(thing.triangles, Uint32Array), 1));
      const soft = thing.sort === "body" || thing.sort === "obstacle";
      const mesh = new THREE.Mesh(
        shape,
        new THREE.MeshStandardMaterial({ flatShading: true, metalness: soft ? 0 : 0.35, roughness: 0.6 }),
      );
      mesh.material.transparent = soft;
      mesh.material.opacity = thing.sort === "body" ? 0.45 : thing.sort === "obstacle" ? 0.22 : 1;
      mesh.material.depthWrite = !soft;
      mesh.userData = thing;
      delete thing.vertices;
      delete thing.triangles;
      const edges = new THREE.EdgesGeometry(shape, 28);
      const line = thing.sort === "obstacle"
        ? new THREE.LineDashedMaterial({ dashSize: 0.02, gapSize: 0.015 })
        : new THREE.LineBasicMaterial();
      const lines = new THREE.LineSegments(edges, line);
      lines.computeLineDistances();
      lines.raycast = () => {};
      mesh.add(lines);
      return mesh;
    },
    point(point) {
      const mesh = new THREE.Mesh(new THREE.SphereGeometry(0.006, 12, 8), new THREE.MeshBasicMaterial());
      mesh.position.set(...point.at);
      mesh.userData = { name: point.name, of: point.name, sort: "point" };
      return mesh;
    },
    ground() {
      const grid = new THREE.GridHelper(6, 60);
      grid.rotation.x = Math.PI / 2;
      grid.raycast = () => {};
      grid.userData = { sort: "ground" };
      return grid;
    },
    repaint() {
      for (const part of this.parts.children) {
        const { sort, material, of } = part.userData;
        if (sort === "ground") {
          part.material.vertexColors = false;
          part.material.color.set(ink("--line"));
          part.material.needsUpdate = true;
          continue;
        }
        const chosen = of && of === this.picked;
        const steel = material ? STEELS[this.metals.indexOf(material) % STEELS.length] : ink("--dim");
        part.material.color.set(chosen ? ink("--warm") : sort === "point" ? ink("--open") : steel);
        for (const line of part.children) line.material.color.set(ink(material ? "--ground" : "--dim"));
      }
      this.draw();
    },
    mark(name) {
      this.picked = name;
      this.repaint();
    },
    look(way) {
      const box = new THREE.Box3();
      for (const part of this.parts.children)
        if (part.userData.sort !== "ground") box.expandByObject(part);
      if (box.isEmpty()) return;
      const ball = box.getBoundingSphere(new THREE.Sphere());
      const towards = WAYS[way]
        ? new THREE.Vector3(...WAYS[way])
        : this.camera.position.clone().sub(this.controls.target);
      const wide = Math.min(1, this.camera.aspect);
      const far = ball.radius / Math.sin((this.camera.fov * Math.PI) / 360) / wide;
      this.controls.target.copy(ball.center);
      this.camera.position.copy(ball.center).addScaledVector(towards.normalize(), far * 0.95);
      this.controls.update();
      this.draw();
    },
    under(event) {
      const box = this.canvas.getBoundingClientRect();
      const at = new THREE.Vector2(
        ((event.clientX - box.left) / box.width) * 2 - 1,
        1 - ((event.clientY - box.top) / box.height) * 2,
      );
      this.ray.setFromCamera(at, this.camera);
      const hits = this.ray.intersectObjects(this.parts.children, false).filter((h) => h.object.userData.name);
      const firm = hits.find((h) => !["obstacle", "body"].includes(h.object.userData.sort));
      return (firm || hits[0])?.object.userData;
    },
    hover(event) {
      if (event.buttons) return;
      const found = this.under(event);
      const box = this.canvas.getBoundingClientRect();
      this.label.textContent = found ? found.name : "";
      this.label.style.transform = `translate(${event.clientX - box.left + 14}px, ${event.clientY - box.top + 14}px)`;
    },
    click(event) {
      const [x, y] = this.from || [event.clientX, event.clientY];
      if (Math.hypot(event.clientX - x, event.clientY - y) > 4) return;
      this.$emit("pick", this.under(event)?.of || "");
    },
    resize() {
      const { clientWidth: width, clientHeight: height } = this.$el;
      if (!width || !height) return;
      this.renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
      this.renderer.setSize(width, height, false);
      this.camera.aspect = width / height;
      this.camera.updateProjectionMatrix();
      this.draw();
    },
    draw() {
      if (this.waiting) return;
      this.waiting = requestAnimationFrame(() => {
        this.waiting = 0;
        this.renderer.render(this.scene, this.camera);
      });
    },
  },
};
