//! A resistive network: what remains of a circuit once ideal voltages are contracted and nothing is left but conductances.
//!
//! Each vertex is a class of nodes, each link obeys `current = (potential of a - potential of b + boost) / resistance`.
//! One vertex of each connected part is the ground, at zero. The currents fed into a part sum to zero (whoever builds the
//! network sees to it), so that the ground has nothing to take up.

/// A conducting link between two different vertices.
#[derive(Clone, Debug)]
pub(crate) struct Link<F> {
    pub a: u32,
    pub b: u32,
    /// Positive.
    pub resistance: F,
    /// A voltage in series that drives from `a` to `b`.
    pub boost: F,
}

/// The network.
#[derive(Clone, Debug)]
pub(crate) struct Network<F> {
    pub links: Vec<Link<F>>,
    /// The current fed into each vertex from outside.
    pub fed: Vec<F>,
    /// Whether a vertex is a ground.
    pub ground: Vec<bool>,
}

/// What flows.
#[derive(Clone, Debug)]
pub(crate) struct Flow<F> {
    /// Potential of each vertex.
    pub potential: Vec<F>,
    /// Current through each link, from `a` to `b`.
    pub current: Vec<F>,
}
